"""The microphone, with a fake of the sounddevice library and with the real one."""

import os
import subprocess
import sys
import threading
from collections.abc import Iterator
from ctypes.util import find_library
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from drill.core.errors import NoMicrophone, ResourceUnavailable
from drill.devices import microphone
from drill.devices.microphone import (
    InputLevel,
    Microphone,
    RecordingInterrupted,
    record_clip,
)
from tests.drill.devices.fake_input import OVERFLOW, RATE_HZ, TONE, FakeInputLibrary, use_library


@pytest.fixture
def library(monkeypatch: pytest.MonkeyPatch) -> FakeInputLibrary:
    return use_library(monkeypatch, FakeInputLibrary())


def test_the_recording_contains_what_the_device_delivers(library: FakeInputLibrary) -> None:
    clip = record_clip(seconds=1.5)
    assert clip.rate_hz == RATE_HZ
    assert np.array_equal(clip.samples, TONE[:12_000])
    assert (library.opened, library.closed) == ([1], 1)


def test_nothing_is_recorded_before_start(library: FakeInputLibrary) -> None:
    with Microphone() as device:
        assert not library.opened
        assert len(device.stop().samples) == 0
    assert not library.opened


def test_the_meter_gets_peak_and_rms_of_every_50_ms(library: FakeInputLibrary) -> None:
    """A sine of amplitude 0.5 has an RMS of 0.5 / sqrt 2."""
    levels: list[InputLevel] = []
    record_clip(seconds=1.0, meter=levels.append)
    assert [level.end_s for level in levels] == pytest.approx(np.arange(1, 21) * 0.05)
    assert all(level.peak == pytest.approx(0.5, abs=0.02) for level in levels)
    assert all(level.rms == pytest.approx(0.5 / 2**0.5, rel=0.02) for level in levels)
    assert not any(level.overflowed for level in levels)


def test_until_ends_the_recording(library: FakeInputLibrary) -> None:
    clip = record_clip(until=lambda level: level.end_s >= 0.5, seconds=2)
    assert 0.5 <= clip.seconds <= 2
    assert library.closed == 1


@given(block=st.integers(1, 3000), seconds=st.floats(0.001, 1.9))
def test_the_block_size_does_not_change_the_recording(block: int, seconds: float) -> None:
    with pytest.MonkeyPatch.context() as patch:
        use_library(patch, FakeInputLibrary(block=block))
        ends: list[float] = []
        clip = record_clip(seconds=seconds, meter=lambda level: ends.append(level.end_s))
    assert np.array_equal(clip.samples, TONE[: max(1, round(seconds * RATE_HZ))])
    assert ends[-1] == pytest.approx(clip.seconds)


def test_lost_samples_are_reported(monkeypatch: pytest.MonkeyPatch) -> None:
    use_library(monkeypatch, FakeInputLibrary(status=OVERFLOW))
    levels: list[InputLevel] = []
    record_clip(seconds=0.2, meter=levels.append)
    assert any(level.overflowed for level in levels)


def test_of_two_channels_the_first_is_recorded(monkeypatch: pytest.MonkeyPatch) -> None:
    library = use_library(monkeypatch, FakeInputLibrary(channels=(2,)))
    assert np.array_equal(record_clip(seconds=1).samples, TONE[:RATE_HZ])
    assert library.opened == [2]


def test_a_second_recording_starts_from_the_beginning(library: FakeInputLibrary) -> None:
    with Microphone() as device:
        for _ in range(2):
            device.start(0.5)
            assert sum(1 for _ in device.levels()) == 10
            assert np.array_equal(device.stop().samples, TONE[:4000])
    assert library.closed == 2


@pytest.mark.parametrize("stays", [True, False])
def test_a_disconnected_device_leaves_the_recording_so_far(
    stays: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    """When a device is unplugged, some systems end the stream and others deliver silence."""
    library = use_library(monkeypatch, FakeInputLibrary(TONE[:3000], stays=stays))
    with pytest.raises(RecordingInterrupted, match="the input has been disconnected") as caught:
        record_clip(seconds=2)
    assert np.array_equal(caught.value.recording.samples, TONE[:3000])
    assert library.closed == 1
    assert "\n" not in str(caught.value)


def test_a_silent_recording_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    use_library(monkeypatch, FakeInputLibrary(np.zeros(2 * RATE_HZ, np.float32)))
    with pytest.raises(RecordingInterrupted, match="only silence") as caught:
        record_clip(seconds=1)
    assert caught.value.recording.seconds == 1


@pytest.mark.parametrize(
    ("library", "message"),
    [
        (FakeInputLibrary(device=False), "no input device (Error querying device -1)"),
        (FakeInputLibrary(opens=False), "the input cannot be opened (Invalid number of channels)"),
        (FakeInputLibrary(TONE[:0], stays=False), "the input has been disconnected"),
    ],
)
def test_a_missing_device_gives_a_one_line_error(
    library: FakeInputLibrary, message: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    use_library(monkeypatch, library)
    with pytest.raises(NoMicrophone) as caught:
        record_clip(seconds=1)
    assert message in str(caught.value)
    assert "\n" not in str(caught.value)
    assert not isinstance(caught.value, RecordingInterrupted)
    assert isinstance(caught.value, ResourceUnavailable)


def test_a_missing_library_gives_the_remedy_for_the_system(remedy_without_library: str) -> None:
    with pytest.raises(NoMicrophone, match=remedy_without_library):
        Microphone()


def test_a_recording_of_no_length_is_refused(library: FakeInputLibrary) -> None:
    with pytest.raises(ValueError, match="0 s"):
        record_clip(seconds=0)


def test_levels_arrive_while_the_device_records(monkeypatch: pytest.MonkeyPatch) -> None:
    """The device waits until each level is read, so levels cannot arrive only at the end."""
    heard = threading.Semaphore(1)

    class Slow(FakeInputLibrary):
        def InputStream(self, *, channels: int, callback: Any, **given: Any) -> SimpleNamespace:
            stream = SimpleNamespace(active=True, close=lambda: None)

            def run() -> None:
                for at in range(0, RATE_HZ, 400):
                    assert heard.acquire(timeout=60)
                    with_channel = TONE[at : at + 400, None]
                    try:
                        callback(with_channel, 400, None, None)
                    except self.CallbackStop:
                        return

            stream.start = threading.Thread(target=run).start
            return stream

    use_library(monkeypatch, Slow())
    monkeypatch.setattr(microphone, "STALL_TIMEOUT_S", 60)
    clip = record_clip(seconds=1, meter=lambda level: heard.release())
    assert np.array_equal(clip.samples, TONE[:RATE_HZ])


def test_this_computer_has_a_microphone_or_the_error_says_why_not() -> None:
    try:
        Microphone().close()
    except NoMicrophone as error:
        assert str(error).startswith("No microphone: ")


ALSA = """
</usr/share/alsa/alsa.conf>
pcm.!default {{ type plug slave.pcm "said" }}
pcm.said {{
    type file slave.pcm "null" file "/dev/null" infile "{file}" format "raw"
}}
"""
RECORD = """
import sys
import numpy as np
from drill.devices.microphone import record_clip
clip = record_clip(seconds=0.5)
print(clip.rate_hz)
np.save(sys.argv[1], clip.samples)
"""


@pytest.fixture
def alsa(tmp_path: Path) -> Iterator[dict[str, str]]:
    """Return an environment whose microphone is a file of float32 samples at 44.1 kHz."""
    if not Path("/usr/share/alsa/alsa.conf").exists() or not find_library("portaudio"):
        why = "needs ALSA and PortAudio (Debian: libportaudio2)"
        (pytest.fail if os.environ.get("CI") else pytest.skip)(why)
    (tmp_path / "asound.conf").write_text(ALSA.format(file=tmp_path / "said.raw"))
    yield {**os.environ, "ALSA_CONFIG_PATH": str(tmp_path / "asound.conf")}


def test_the_real_library_delivers_every_sample(alsa: dict[str, str], tmp_path: Path) -> None:
    """ALSA's device is a file."""
    tone = (0.5 * np.sin(2 * np.pi * 1000 * np.arange(44_100) / 44_100)).astype(np.float32)
    tone.tofile(tmp_path / "said.raw")
    done = subprocess.run(
        [sys.executable, "-c", RECORD, str(tmp_path / "heard.npy")],
        check=True, capture_output=True, text=True, env=alsa,
    )  # fmt: skip
    assert done.stdout == "44100\n"
    heard = np.load(tmp_path / "heard.npy")
    assert len(heard) == 22_050
    assert np.max(np.abs(heard - tone[:22_050])) < 1e-4
