"""The output for a stream: no sample is left out, and late samples are counted."""

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from drill.core.errors import NoSoundCard
from drill.devices import stream_output
from drill.devices.stream_output import FADE_SAMPLES, START_SAMPLES, PlayBuffer, StreamPlayer
from drill.radio import AUDIO_RATE_HZ


@given(
    blocks=st.lists(st.integers(0, 700), max_size=30),
    reads=st.lists(st.integers(1, 600), min_size=1, max_size=30),
)
def test_every_sample_is_played_once_and_in_order(blocks: list[int], reads: list[int]) -> None:
    buffer, written, played = PlayBuffer(), 0, 0
    for index in range(max(len(blocks), len(reads))):
        if index < len(blocks):
            buffer.write(np.arange(written, written + blocks[index], dtype=np.float32) + 1)
            written += blocks[index]
        before = buffer.waiting
        samples = buffer.read(reads[index % len(reads)])
        count = before - buffer.waiting
        assert count in (0, len(samples))
        if count:
            expected = np.arange(played, played + count) + 1
            beyond = min(count, FADE_SAMPLES)
            assert np.array_equal(samples[beyond:], expected[beyond:])
            assert np.all(samples <= expected)
            played += count
    assert buffer.waiting == written - played


def test_late_samples_fade_out_and_count_unless_the_clock_has_halted() -> None:
    buffer = PlayBuffer()
    buffer.write(np.full(START_SAMPLES, 0.5, np.float32))
    assert buffer.read(START_SAMPLES)[-1] == 0.5
    late = buffer.read(256)
    assert abs(late[0]) < 0.5
    assert abs(late[-1]) < 1e-6
    assert np.all(np.diff(late) <= 0)
    assert buffer.underruns == 1
    assert not np.any(np.abs(buffer.read(256)) > 1e-6)
    assert buffer.underruns == 1
    buffer.write(np.ones(START_SAMPLES, np.float32))
    buffer.read(512)
    buffer.halted = True
    buffer.read(512)
    buffer.read(512)
    assert buffer.underruns == 1


class FakeStreamLibrary:
    """The parts of sounddevice that are used. rates: rates that the device supports."""

    class PortAudioError(Exception):
        pass

    def __init__(self, *rates: int) -> None:
        self.rates = rates
        self.fill: Any = None

    def check_output_settings(self, *, channels: int, samplerate: int) -> None:
        if samplerate not in self.rates:
            raise self.PortAudioError(f"Invalid sample rate {samplerate}")

    def OutputStream(self, *, callback: Any, **given: Any) -> SimpleNamespace:
        self.given, self.fill = given, callback
        return SimpleNamespace(start=lambda: None, close=lambda: None)


@pytest.mark.parametrize("rate_hz", [AUDIO_RATE_HZ, 48_000])
def test_the_sound_is_converted_to_the_rate_of_the_device(
    rate_hz: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    library = FakeStreamLibrary(rate_hz)
    monkeypatch.setattr(stream_output, "load_portaudio", lambda: library)
    player = StreamPlayer()
    assert library.given["samplerate"] == rate_hz
    time = np.arange(AUDIO_RATE_HZ) / AUDIO_RATE_HZ
    tone = (0.5 * np.sin(2 * np.pi * 1000 * time)).astype(np.float32)
    for start in range(0, len(tone) // 512 * 512, 512):
        player.write(tone[start : start + 512])
    assert 0.9 * AUDIO_RATE_HZ < player.waiting <= AUDIO_RATE_HZ
    out = np.zeros((rate_hz // 2, 1), np.float32)
    library.fill(out, len(out), None, None)
    spectrum = np.abs(np.fft.rfft(out[:, 0] * np.hanning(len(out))))
    assert np.argmax(spectrum) * rate_hz / len(out) == pytest.approx(1000, abs=3)
    assert np.max(np.abs(out)) == pytest.approx(0.5, abs=0.01)
    assert player.underruns == 0


def test_without_a_usable_device_the_remedy_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(stream_output, "load_portaudio", FakeStreamLibrary)
    with pytest.raises(NoSoundCard, match="cannot be opened"):
        StreamPlayer()


def test_without_the_library_the_remedy_is_named(remedy_without_library: str) -> None:
    with pytest.raises(NoSoundCard, match=remedy_without_library):
        StreamPlayer()
