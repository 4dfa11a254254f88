"""The microphone, with a library that stands in for PortAudio, and with the real one."""

import builtins
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
from hypothesis import given, settings
from hypothesis import strategies as st

from drill.core.errors import NoMicrophone, ResourceUnavailable
from drill.devices import microphone
from drill.devices.microphone import Level, Microphone, record
from tests.drill.card import LATE, RATE_HZ, TONE, Card, use


@pytest.fixture
def card(monkeypatch: pytest.MonkeyPatch) -> Card:
    return use(monkeypatch, Card())


def test_what_is_heard_is_what_is_kept(card: Card) -> None:
    clip = record(seconds=1.5)
    assert clip.rate_hz == RATE_HZ
    assert np.array_equal(clip.samples, TONE[:12_000])
    assert (card.opened, card.closed) == ([1], 1)


def test_nothing_is_recorded_before_it_is_asked_for(card: Card) -> None:
    with Microphone() as each:
        assert not card.opened
        assert len(each.stop().samples) == 0
    assert not card.opened


def test_the_meter_tells_peak_and_rms_of_every_50_ms(card: Card) -> None:
    """A sine of amplitude 0.5 has an RMS of 0.5 / sqrt 2."""
    levels: list[Level] = []
    record(seconds=1.0, meter=levels.append)
    assert [level.at_s for level in levels] == pytest.approx(np.arange(1, 21) * 0.05)
    assert all(level.peak == pytest.approx(0.5, abs=0.02) for level in levels)
    assert all(level.rms == pytest.approx(0.5 / 2**0.5, rel=0.02) for level in levels)
    assert not any(level.lost for level in levels)


def test_it_ends_when_it_is_told_to(card: Card) -> None:
    clip = record(until=lambda level: level.at_s >= 0.5, seconds=2)
    assert 0.5 <= clip.seconds <= 2
    assert card.closed == 1


@settings(deadline=None)
@given(block=st.integers(1, 3000), seconds=st.floats(0.001, 1.9))
def test_blocks_of_any_size_give_the_same(block: int, seconds: float) -> None:
    with pytest.MonkeyPatch.context() as patch:
        use(patch, Card(block=block))
        ends: list[float] = []
        clip = record(seconds=seconds, meter=lambda level: ends.append(level.at_s))
    assert np.array_equal(clip.samples, TONE[: max(1, round(seconds * RATE_HZ))])
    assert ends[-1] == pytest.approx(clip.seconds)


def test_lost_samples_are_told(monkeypatch: pytest.MonkeyPatch) -> None:
    use(monkeypatch, Card(status=LATE))
    levels: list[Level] = []
    record(seconds=0.2, meter=levels.append)
    assert any(level.lost for level in levels)


def test_a_device_of_two_channels_gives_the_first(monkeypatch: pytest.MonkeyPatch) -> None:
    card = use(monkeypatch, Card(channels=(2,)))
    assert np.array_equal(record(seconds=1).samples, TONE[:RATE_HZ])
    assert card.opened == [2]


def test_a_second_recording_begins_anew(card: Card) -> None:
    with Microphone() as each:
        for _ in range(2):
            each.start(0.5)
            assert sum(1 for _ in each.levels()) == 10
            assert np.array_equal(each.stop().samples, TONE[:4000])
    assert card.closed == 2


@pytest.mark.parametrize("stays", [True, False])
def test_a_device_that_goes_away_leaves_what_was_heard(
    stays: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Unplugged, some systems end the stream and others fall silent."""
    card = use(monkeypatch, Card(TONE[:3000], stays=stays))
    with pytest.raises(NoMicrophone, match="the input has gone") as caught:
        record(seconds=2)
    assert caught.value.kept is not None
    assert np.array_equal(caught.value.kept.samples, TONE[:3000])
    assert card.closed == 1
    assert "\n" not in str(caught.value)


def test_silence_is_no_recording(monkeypatch: pytest.MonkeyPatch) -> None:
    use(monkeypatch, Card(np.zeros(2 * RATE_HZ, np.float32)))
    with pytest.raises(NoMicrophone, match="nothing but silence") as caught:
        record(seconds=1)
    assert caught.value.kept is not None
    assert caught.value.kept.seconds == 1


@pytest.mark.parametrize(
    ("card", "told"),
    [
        (Card(device=False), "there is no input device (Error querying device -1)"),
        (Card(opens=False), "the input refuses (Invalid number of channels)"),
        (Card(TONE[:0], stays=False), "the input has gone"),
    ],
)
def test_what_is_lacking_is_told_in_a_line(
    card: Card, told: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    use(monkeypatch, card)
    with pytest.raises(NoMicrophone) as caught:
        record(seconds=1)
    assert told in str(caught.value)
    assert "\n" not in str(caught.value)
    assert caught.value.kept is None
    assert isinstance(caught.value, ResourceUnavailable)


@pytest.mark.parametrize(
    ("system", "remedy"),
    [("linux", "apt install libportaudio2"), ("darwin", "on macOS"), ("win32", "on Windows")],
)
def test_no_library_is_told_with_the_remedy_of_the_system(
    monkeypatch: pytest.MonkeyPatch, system: str, remedy: str
) -> None:
    real = builtins.__import__

    def without(name: str, *given: Any) -> Any:
        if name == "sounddevice":
            raise OSError("PortAudio library not found")
        return real(name, *given)

    monkeypatch.setattr(builtins, "__import__", without)
    monkeypatch.setattr("sys.platform", system)
    with pytest.raises(NoMicrophone, match=remedy):
        Microphone()


def test_no_time_at_all_is_refused(card: Card) -> None:
    with pytest.raises(ValueError, match="0 s"):
        record(seconds=0)


def test_levels_come_while_the_device_still_records(monkeypatch: pytest.MonkeyPatch) -> None:
    """The device waits for the listener: level by level, nothing is held back to the end."""
    heard = threading.Semaphore(1)

    class Slow(Card):
        def InputStream(self, *, channels: int, callback: Any, **given: Any) -> SimpleNamespace:
            stream = SimpleNamespace(active=True, close=lambda: None)

            def run() -> None:
                for at in range(0, RATE_HZ, 400):
                    assert heard.acquire(timeout=10)
                    with_channel = TONE[at : at + 400, None]
                    try:
                        callback(with_channel, 400, None, None)
                    except self.CallbackStop:
                        return

            stream.start = threading.Thread(target=run).start
            return stream

    use(monkeypatch, Slow())
    monkeypatch.setattr(microphone, "STALLED_S", 10)
    clip = record(seconds=1, meter=lambda level: heard.release())
    assert np.array_equal(clip.samples, TONE[:RATE_HZ])


def test_this_machine_hears_or_says_why_not() -> None:
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
from drill.devices.microphone import record
clip = record(seconds=0.5)
print(clip.rate_hz)
np.save(sys.argv[1], clip.samples)
"""


@pytest.fixture
def alsa(tmp_path: Path) -> Iterator[dict[str, str]]:
    """Return an environment whose microphone is a file, 44.1 kHz, float32."""
    if not Path("/usr/share/alsa/alsa.conf").exists() or not find_library("portaudio"):
        why = "needs ALSA and PortAudio (Debian: libportaudio2)"
        (pytest.fail if os.environ.get("CI") else pytest.skip)(why)
    (tmp_path / "asound.conf").write_text(ALSA.format(file=tmp_path / "said.raw"))
    yield {**os.environ, "ALSA_CONFIG_PATH": str(tmp_path / "asound.conf")}


def test_portaudio_gives_every_sample(alsa: dict[str, str], tmp_path: Path) -> None:
    """The real library, with a device of ALSA's that hears what is in a file."""
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
