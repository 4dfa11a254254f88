"""The sound card, with a fake of the sounddevice library and with the real one."""

import os
import subprocess
import sys
import threading
from collections.abc import Callable
from ctypes.util import find_library
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from drill.core.errors import NoSoundCard
from drill.core.models import Clip
from drill.devices import output

CLIP = Clip(samples=np.full(16_000, 0.5, np.float32), rate_hz=16_000)


class FakeOutputLibrary:
    """The parts of sounddevice that are used; tests call the callback."""

    class PortAudioError(Exception):
        pass

    class CallbackStop(Exception):
        pass

    def __init__(self, rates: tuple[int, ...] = (16_000,), device: bool = True) -> None:
        self.rates = rates
        self.device = device
        self.streams: list[SimpleNamespace] = []

    def query_devices(self, kind: str) -> dict[str, float]:
        if not self.device:
            raise self.PortAudioError("Error querying device -1")
        return {"default_samplerate": 48_000.0}

    def check_output_settings(self, *, channels: int, samplerate: int) -> None:
        if samplerate not in self.rates:
            raise self.PortAudioError("Invalid sample rate")

    def OutputStream(self, **given: Any) -> SimpleNamespace:
        stream = SimpleNamespace(latency=0.1, active=True, given=given, started=False)
        stream.start = lambda: setattr(stream, "started", True)
        stream.close = lambda: setattr(stream, "active", False)
        self.streams.append(stream)
        return stream


@pytest.fixture
def library(monkeypatch: pytest.MonkeyPatch) -> FakeOutputLibrary:
    library = FakeOutputLibrary()
    monkeypatch.setattr(output, "load_portaudio", lambda: library)
    return library


def pull(feed: Callable[..., None], frames: int) -> np.ndarray[Any, Any]:
    out = np.full((frames, 1), np.nan, np.float32)
    feed(out, frames, None, None)
    return out[:, 0]


def test_the_samples_are_played_unchanged(library: FakeOutputLibrary) -> None:
    output.SoundCard().play(CLIP)
    feed = library.streams[0].given["callback"]
    assert library.streams[0].started
    assert np.array_equal(pull(feed, 10_000), CLIP.samples[:10_000])
    with pytest.raises(library.CallbackStop):
        pull(feed, 10_000)


def test_a_stopped_clip_ends_in_a_ramp() -> None:
    stopping = threading.Event()
    feed = output._output_callback(CLIP.samples, 16_000, stopping, FakeOutputLibrary.CallbackStop)
    pull(feed, 1000)
    stopping.set()
    out = np.full((640, 1), np.nan, np.float32)
    with pytest.raises(FakeOutputLibrary.CallbackStop):
        feed(out, 640, None, None)
    assert out[0, 0] == pytest.approx(0.5, abs=0.01)
    assert np.max(np.abs(np.diff(out[:, 0]))) < 0.01
    assert np.all(out[320:] == 0)


def test_a_clip_is_resampled_to_the_rate_of_the_device(monkeypatch: pytest.MonkeyPatch) -> None:
    library = FakeOutputLibrary(rates=(48_000,))
    monkeypatch.setattr(output, "load_portaudio", lambda: library)
    output.SoundCard().play(CLIP)
    assert library.streams[0].given["samplerate"] == 48_000
    feed = library.streams[0].given["callback"]
    block = pull(feed, 24_000)
    assert block[12_000] == pytest.approx(0.5, abs=0.02)
    assert np.max(np.abs(block)) <= 1


def test_time_is_counted_from_the_end_of_the_clip(
    library: FakeOutputLibrary, monkeypatch: pytest.MonkeyPatch
) -> None:
    now = [100.0]
    monkeypatch.setattr("drill.devices.output.time.monotonic", lambda: now[0])
    player = output.SoundCard()
    player.play(CLIP)
    now[0] = 100.5
    assert player.seconds_since_end() == 0
    now[0] = 103.1
    assert player.seconds_since_end() == pytest.approx(2.0)


def test_a_missing_device_gives_a_one_line_error(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(output, "load_portaudio", lambda: FakeOutputLibrary(device=False))
    with pytest.raises(NoSoundCard, match="no output device") as caught:
        output.SoundCard()
    assert "\n" not in str(caught.value)
    # What to do comes first, what the library reports last.
    assert str(caught.value).endswith(" (Error querying device -1)")
    other = caught.value.message_or("write files")
    assert other.endswith("; or write files (Error querying device -1)")


def test_a_missing_library_gives_the_remedy_for_the_system(remedy_without_library: str) -> None:
    with pytest.raises(NoSoundCard, match=remedy_without_library):
        output.SoundCard()


def test_this_computer_has_a_sound_card_or_the_error_says_why_not() -> None:
    """Uses the real library."""
    try:
        output.SoundCard()
    except NoSoundCard as error:
        assert str(error).startswith("No sound: ")


ALSA = """
</usr/share/alsa/alsa.conf>
pcm.!default {{ type plug slave.pcm "played" }}
pcm.played {{ type file slave.pcm "null" file "{file}" format "raw" }}
"""
PLAY = """
import time
import numpy as np
from drill.core.models import Clip
from drill.devices.output import SoundCard
card = SoundCard()
tone = (0.5 * np.sin(2 * np.pi * 1000 * np.arange(16_000) / 16_000)).astype(np.float32)
card.play(Clip(samples=tone, rate_hz=16_000))
while card._stream.active:
    time.sleep(0.05)
card.stop()
"""


def test_the_real_library_receives_every_sample(tmp_path: Path) -> None:
    """ALSA's device writes the samples to a file."""
    alsa = Path("/usr/share/alsa/alsa.conf")
    if not alsa.exists() or not find_library("portaudio"):
        why = "needs ALSA and PortAudio (Debian: libportaudio2)"
        (pytest.fail if os.environ.get("CI") else pytest.skip)(why)
    file = tmp_path / "played.raw"
    (tmp_path / "asound.conf").write_text(ALSA.format(file=file))
    subprocess.run(
        [sys.executable, "-c", PLAY],
        check=True,
        capture_output=True,
        timeout=120,
        env={**os.environ, "ALSA_CONFIG_PATH": str(tmp_path / "asound.conf")},
    )
    played = np.fromfile(file, np.float32)
    sounding = np.flatnonzero(played)
    tone = 0.5 * np.sin(2 * np.pi * 1000 * np.arange(16_000) / 16_000)
    heard = played[sounding[0] - 1 : sounding[0] - 1 + len(tone)]
    assert np.max(np.abs(heard - tone)) < 1e-4
