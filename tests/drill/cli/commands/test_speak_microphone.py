"""faintcall speak with a microphone: a device that is injected, and a real terminal."""

import io
import os
import sys
from collections.abc import Callable, Sequence
from functools import cache
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drill.cli import main
from drill.cli.keyboard import EnterKey
from drill.cli.speak_microphone import (
    LEAD_BLOCKS,
    QUIET_BLOCKS,
    SPOKEN_BLOCKS,
    MicrophoneSource,
    is_over,
)
from drill.cli.speech_detection import KEY_NOISE_S
from drill.core.audio_files import read_audio
from drill.core.errors import NoSoundCard, NoVoice
from drill.core.models import Clip, Samples
from drill.core.paths import record_file
from drill.devices.microphone import BLOCK_S, InputLevel
from drill.records.store import Store
from drill.sending.far import FarEnd, FarEnds, Loss
from drill.sending.limits import LIMITS
from drill.sending.prompts import prompt, station
from drill.voices.operators import find_operator
from phonetics.exchanges import load_exchange
from tests.drill.devices.fake_input import play_into_microphone, use_library
from tests.tools.defects import DEFECTS, spoilt

RATE_HZ = 24_000
ASKED = prompt("call", station("E87ABC", load_exchange("serial")), 4)
SPEAK = ["speak", "--call", "E87ABC", "--prompt", "call", "--seed", "4"]


def room(seconds: float, seed: int = 0) -> Samples:
    samples = np.random.default_rng(seed).normal(0, 10 ** (-65 / 20), round(seconds * RATE_HZ))
    return samples.astype(np.float32)


@cache
def said(defect: str = "none") -> Samples:
    """Return a take as the microphone hears it: the room, the voice, the room."""
    clip = spoilt(ASKED, find_operator("slate"), DEFECTS[defect], 4).clip
    assert clip.rate_hz == RATE_HZ
    return np.concatenate((room(0.9), clip.samples, room(3, seed=1)))


class Device(Card):
    """A device that hears one sound after the other, and goes away at the end of each."""

    def __init__(self, *sounds: Samples, stays: bool = True, device: bool = True) -> None:
        super().__init__(stays=stays, device=device, rate_hz=RATE_HZ)
        self.sounds = list(sounds)

    def InputStream(self, *, channels: int, callback: Any, **given: Any) -> SimpleNamespace:
        self.sound = self.sounds.pop(0)
        return super().InputStream(channels=channels, callback=callback, **given)


FAR = FarEnds(
    ends=tuple(
        FarEnd(
            watts=watts, snr_db=0.0, index=0.3, reference=0.3, loss=Loss(bands=(), times=()),
            clip=Clip(samples=np.full(100, 0.1, np.float32), rate_hz=16_000),
            reference_clip=Clip(samples=np.full(200, 0.1, np.float32), rate_hz=16_000),
        )
        for watts in (100.0, 20.0, 5.0)
    ),
    operator="meadow", behind_db=None,
)  # fmt: skip


@pytest.fixture
def sit(home: Path, monkeypatch: pytest.MonkeyPatch) -> Callable[..., int]:
    """Return how to run the command before a device, with lines typed and a far end given."""

    def far_ends(*_: object, **__: object) -> FarEnds:
        return FAR

    def run(device: Device, *lines: str, more: Sequence[str] = ()) -> int:
        use_library(monkeypatch, device)
        monkeypatch.setattr("sys.stdin", io.StringIO("".join(f"{line}\n" for line in lines)))
        monkeypatch.setattr("drill.sending.far.far_ends", far_ends)
        return main([*SPEAK, *more])

    return run


def kept_takes() -> int:
    with Store(record_file()) as store:
        return len(store.takes())


# --- when a take is over


def levels(*parts: tuple[float, float]) -> list[float]:
    """Return the levels of blocks: each part its level in dB and its length in s."""
    return [level for level, seconds in parts for _ in range(round(seconds / BLOCK_S))]


@settings(deadline=None)
@given(st.lists(st.floats(-3, 3), min_size=1, max_size=600), st.floats(-90, -20))
def test_a_room_without_a_voice_is_never_over(swing: list[float], level_db: float) -> None:
    assert not is_over([level_db + each for each in swing])


@settings(deadline=None)
@given(
    pauses=st.lists(st.floats(0.05, 1.9), min_size=1, max_size=5),
    room_db=st.floats(-85, -45),
    above_db=st.floats(16, 40),
)
def test_no_pause_ends_it_and_quiet_does(
    pauses: list[float], room_db: float, above_db: float
) -> None:
    voice_db = max(room_db + above_db, -40)
    parts = [(room_db, 0.5)]
    for pause_s in pauses:
        parts += [(voice_db, 0.4), (room_db, pause_s)]
    spoken = levels(*parts, (voice_db, 0.4))
    assert not any(is_over(spoken[:end]) for end in range(0, len(spoken) + 1, 2))
    quiet = levels((room_db, 2.0))
    assert not is_over(spoken + quiet[:-1])
    assert is_over(spoken + quiet)


def test_a_pause_can_be_found_fault_with_before_it_ends_the_take() -> None:
    longest_s = LIMITS["pause"].high
    assert longest_s is not None
    assert longest_s + 0.5 < QUIET_BLOCKS * BLOCK_S


def test_who_speaks_into_the_quiet_is_still_heard_to_the_end() -> None:
    assert is_over(levels((-20, 2.0), (-60, 0.1), (-20, 1.0), (-60, 2.0)))


def test_a_click_is_no_voice() -> None:
    click = levels((-60, 0.5)) + [-20.0] * (SPOKEN_BLOCKS - 1) + levels((-60, 5.0))
    assert not is_over(click)


# --- one take


class Keys(EnterKey):
    """Enter, pressed once the recording asks for the n-th time after the quiet."""

    def __init__(self, after: int) -> None:
        self._left = after

    def was_pressed(self) -> bool:
        self._left -= 1
        return self._left < 0

    def discard(self) -> None:
        pass


def test_a_take_begins_after_the_key_and_ends_after_the_voice(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    sound = said()
    use_library(monkeypatch, Device(np.concatenate((sound, room(10)))))
    clip = MicrophoneSource(enter=Keys(10_000)).take(ASKED)
    first = round(KEY_NOISE_S * RATE_HZ)
    assert np.array_equal(clip.samples, sound[first : first + len(clip.samples)])
    # 0.4 s of the room that a take made with a defect ends in, 3 s more; 0.8 s of quiet stays.
    end_s = len(sound) / RATE_HZ - 3.4 + 0.8
    assert clip.seconds + KEY_NOISE_S == pytest.approx(end_s, abs=0.2)
    assert capsys.readouterr().out.splitlines() == [
        "Recording. Keep still.", "Say it now.", f"Recorded, {clip.seconds:.1f} s.",
    ]  # fmt: skip
    # What lies before the voice is enough to measure the room in.
    assert np.max(np.abs(clip.samples[: round(0.5 * RATE_HZ)])) < 0.01


def test_enter_ends_it_at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    use_library(monkeypatch, Device(said()))
    clip = MicrophoneSource(enter=Keys(30)).take(ASKED)
    assert clip.seconds == pytest.approx((LEAD_BLOCKS + 31) * BLOCK_S, abs=2 * BLOCK_S)


@pytest.mark.parametrize("peak", [0.0, 0.001])
def test_nobody_speaks_on_into_a_muted_microphone(
    peak: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    """After 4 s of digital silence it is over; a quiet room is waited for."""

    def record(*, seconds: float, until: Callable[[InputLevel], bool]) -> Clip:
        ends = (number * BLOCK_S for number in range(1, round(seconds / BLOCK_S) + 1))
        asked = next((at_s for at_s in ends if until(InputLevel(end_s=at_s, peak=peak, rms=peak))), 30.0)
        assert asked == pytest.approx(30.0 if peak else 4.0)
        return Clip(samples=np.zeros(round(asked * RATE_HZ), np.float32), rate_hz=RATE_HZ)

    monkeypatch.setattr("drill.devices.microphone.record_clip", record)
    MicrophoneSource(enter=Keys(10_000)).take(ASKED)


@pytest.mark.skipif(sys.platform == "win32", reason="a terminal of POSIX")
def test_enter_at_a_terminal_is_seen_and_the_next_line_is_left(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    ours, theirs = os.openpty()
    with os.fdopen(theirs, encoding="utf-8") as stdin, os.fdopen(ours, "wb", buffering=0) as typed:
        monkeypatch.setattr("sys.stdin", stdin)
        enter = EnterKey()
        assert not enter.was_pressed()
        typed.write(b"\n\n")
        enter.discard()
        assert not enter.was_pressed()
        typed.write(b"\nnext\n")
        assert enter.was_pressed()
        assert stdin.readline() == "next\n"
        assert not enter.was_pressed()


def test_lines_of_a_pipe_are_no_keys(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("sys.stdin", io.StringIO("\n\n"))
    assert not EnterKey().was_pressed()


# --- a sitting


def test_a_second_try_is_held_against_the_first(
    sit: Callable[..., int], capsys: pytest.CaptureFixture[str]
) -> None:
    device = Device(said("wrong word"), said(), said())
    assert sit(device, "", "a", "?", "", "", "s") == 0
    shown = capsys.readouterr()
    assert shown.out.index("Nothing is recorded before") < shown.out.index("Give your own call")
    assert shown.out.count("Against your first try: gone: wrong") == 1
    assert "'?' is none of them." in shown.out
    assert shown.out.count("Give your own call, once.") == 2
    assert "Against your last take of the same" in shown.out
    assert shown.out.endswith("3 takes reviewed; what was found is in your record.\n")
    assert "thrown away" in shown.out
    assert shown.err == ""
    assert not set("\r\x1b\t\b") & set(shown.out + shown.err)
    assert kept_takes() == 3


def test_nothing_is_recorded_before_a_key(sit: Callable[..., int]) -> None:
    device = Device(said())
    assert sit(device, "n", "s") == 0
    assert not device.opened
    assert sit(device) == 0  # the end of input
    assert not device.opened


def test_another_prompt_is_another_one(
    sit: Callable[..., int], capsys: pytest.CaptureFixture[str]
) -> None:
    assert sit(Device(), "n", "n", "s", more=["--prompt", "answer"]) == 0
    lines = [line for line in capsys.readouterr().out.splitlines() if "has called you" in line]
    assert len(set(lines)) == 3


def test_the_far_end_is_played_take_and_voice_in_turn(
    sit: Callable[..., int], monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    played: list[int] = []

    class Speaker:
        def play(self, clip: Clip, name: str) -> str:
            played.append(len(clip.samples))
            return ""

        def seconds_since_end(self) -> float:
            return 1.0

        def stop(self) -> None:
            played.append(0)

    monkeypatch.setattr("drill.cli.audio_out.Speaker", Speaker)
    assert sit(Device(said()), "", "f", "", "s") == 0
    out = capsys.readouterr().out
    assert out.index("Before you start, your ears") < out.index("100 W: you.")
    order = [f"{watts} W: {who}." for watts in (100, 20, 5) for who in ("you", "meadow")]
    assert [line for line in out.splitlines() if line in order] == order
    assert played == [100, 200] * 3 + [0]


def test_without_a_voice_to_hold_it_against_the_review_stands(
    sit: Callable[..., int], monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def none(*_: object) -> None:
        raise NoVoice("No voice: none here; install one")

    monkeypatch.setattr("drill.cli.speak_dialogue.far_lines", none)
    assert sit(Device(said()), "", "f", "s") == 0
    shown = capsys.readouterr()
    assert shown.err == "faintcall: No voice: none here; install one\n"
    assert "'f' is none of them." in shown.out
    assert kept_takes() == 1


def test_without_a_sound_card_it_goes_on(
    sit: Callable[..., int], monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def none(_: object) -> None:
        raise NoSoundCard("No sound: none here; or let each item be written: --audio-to DIR")

    monkeypatch.setattr("drill.devices.output.SoundCard.__init__", none)
    assert sit(Device(said()), "", "f", "s") == 0
    shown = capsys.readouterr()
    assert shown.err.count("--audio-to DIR\n") == 1
    assert "1 take reviewed" in shown.out


# --- what the machine lacks


def test_without_a_microphone_a_file_will_do(
    sit: Callable[..., int], capsys: pytest.CaptureFixture[str]
) -> None:
    assert sit(Device(device=False)) == 1
    shown = capsys.readouterr()
    assert "Give your own call" in shown.out
    assert "faintcall speak --prompt call --seed 4 --take FILE" in shown.out
    assert shown.err.startswith("faintcall: No microphone: there is no input device")
    assert shown.err.count("\n") == 1


def test_a_silent_microphone_is_told_and_the_drill_goes_on(
    sit: Callable[..., int], capsys: pytest.CaptureFixture[str]
) -> None:
    silence = np.zeros(31 * RATE_HZ, np.float32)
    assert sit(Device(silence, said()), "", "", "s") == 0
    shown = capsys.readouterr()
    assert "nothing but silence" in shown.err.splitlines()[0]
    assert "Asked for is still: E87ABC." in shown.out
    assert kept_takes() == 1
    assert sit(Device(silence), "", "s") == 1
    assert "0 takes reviewed" in capsys.readouterr().out


def test_a_microphone_that_is_unplugged_loses_nothing(
    sit: Callable[..., int], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    whole, part = said(), said()[: 2 * RATE_HZ]
    device = Device(whole, part)
    assert sit(device, "", "a", "s", more=["--keep-takes", str(tmp_path / "kept")]) == 1
    shown = capsys.readouterr()
    assert "the input has gone" in shown.err
    assert "1 take reviewed" in shown.out
    assert "thrown away" not in shown.out
    assert kept_takes() == 1
    assert device.closed == 2
    first, second = sorted((tmp_path / "kept").iterdir())
    assert np.allclose(read_audio(second).samples, part, atol=2**-14)
    assert read_audio(first).seconds > 2


def test_samples_that_were_lost_are_told_and_the_take_is_not_reviewed(
    sit: Callable[..., int], monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def record(*, seconds: float, until: Callable[[InputLevel], bool]) -> Clip:
        for number in range(1, 61):
            until(InputLevel(end_s=number * BLOCK_S, peak=0.1, rms=0.05, overflowed=number == 50))
        return Clip(samples=said(), rate_hz=RATE_HZ)

    monkeypatch.setattr("drill.devices.microphone.record_clip", record)
    assert sit(Device(), "", "s") == 0
    assert "samples were lost" in capsys.readouterr().err
    assert kept_takes() == 0


def test_without_a_recogniser_nothing_is_asked(
    sit: Callable[..., int], monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    from drill.recogniser.sphinx import PocketSphinxRecogniser

    monkeypatch.setitem(sys.modules, "pocketsphinx", None)
    monkeypatch.setattr("drill.recogniser.find_recogniser", PocketSphinxRecogniser)
    device = Device(said())
    assert sit(device, "") == 1
    shown = capsys.readouterr()
    assert shown.out == ""
    assert "pip install pocketsphinx" in shown.err
    assert shown.err.count("\n") == 1
    assert not device.opened


def test_ctrl_c_in_a_take_loses_no_review(
    sit: Callable[..., int], capsys: pytest.CaptureFixture[str]
) -> None:
    class Broken(Device):
        def InputStream(self, *, channels: int, callback: Any, **given: Any) -> SimpleNamespace:
            if len(self.sounds) == 1:
                raise KeyboardInterrupt
            return super().InputStream(channels=channels, callback=callback, **given)

    assert sit(Broken(said(), said()), "", "a") == 130
    shown = capsys.readouterr()
    assert "1 take reviewed" in shown.out
    assert "what was finished is kept" in shown.err
    assert kept_takes() == 1


# --- in a real terminal, with a file as microphone


def test_a_sitting_in_a_terminal(said_file: Path, tmp_path: Path, home: Path) -> None:
    import pexpect

    play_into_microphone(said_file, said("wrong word"), RATE_HZ)
    child = pexpect.spawn(
        sys.executable,
        ["-m", "drill", *SPEAK, "--audio-to", str(tmp_path / "far")],
        encoding="utf-8",
        timeout=60,
        env={**os.environ, "ALSA_CONFIG_PATH": str(said_file.with_name("asound.conf"))},
    )
    child.expect("To be sent: E87ABC")
    child.expect("s: stop. ")
    assert "Recording." not in child.before
    child.sendline("")
    for line in ("Recording. Keep still.", "Say it now.", "Recorded, ", "Fault: You said"):
        child.expect(line)
    child.expect("a: again. s: stop. ")
    play_into_microphone(said_file, said(), RATE_HZ)
    child.sendline("a")
    child.expect("All of it was said.")
    child.expect("Against your first try: gone: wrong")
    child.expect("5 W, SNR -3.0 dB: you")
    child.expect("s: stop. ")
    child.sendline("s")
    child.expect("2 takes reviewed")
    child.expect(pexpect.EOF)
    child.close()
    assert child.exitstatus == 0
    names = {path.name for path in (tmp_path / "far").iterdir()}
    assert {"call-4-1-take-5w.wav", "call-4-2-take-100w.wav", "call-4-2-meadow-5w.wav"} <= names
    assert kept_takes() == 2
