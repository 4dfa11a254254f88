"""A session with the microphone, from the command line: keys, tries, far end, and failures."""

import io
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from drill.cli import main
from drill.core.audio_files import read_audio
from drill.core.errors import NoSoundCard, NoVoice, UserError
from drill.core.models import Clip
from drill.core.paths import record_file
from drill.records.store import Store
from tests.drill.cli.speaking import (
    RATE_HZ,
    SPEAK_COMMAND,
    FakeMicrophone,
    replace_far_end,
    spoken_take,
)
from tests.drill.devices.fake_input import use_library

RunSession = Callable[..., int]


@pytest.fixture
def run_session(home: Path, monkeypatch: pytest.MonkeyPatch) -> RunSession:
    """Return a function that runs the command with a device and typed lines.

    The far end is not simulated.
    """

    def run(device: FakeMicrophone, *lines: str, more: Sequence[str] = ()) -> int:
        use_library(monkeypatch, device)
        monkeypatch.setattr("sys.stdin", io.StringIO("".join(f"{line}\n" for line in lines)))
        replace_far_end(monkeypatch)
        return main([*SPEAK_COMMAND, *more])

    return run


def stored_take_count() -> int:
    with Store(record_file()) as store:
        return len(store.takes())


# --- keys and tries


def test_a_second_try_is_compared_with_the_first(
    run_session: RunSession, capsys: pytest.CaptureFixture[str]
) -> None:
    device = FakeMicrophone(spoken_take("wrong word"), spoken_take(), spoken_take())
    assert run_session(device, "", "a", "?", "", "", "s") == 0
    shown = capsys.readouterr()
    assert shown.out.index("Nothing is recorded before") < shown.out.index("Give your own call")
    assert shown.out.count("Compared with your first try: gone: wrong") == 1
    assert "Unknown key '?'." in shown.out
    assert shown.out.count("Give your own call, once.") == 2
    assert "Compared with your last take of the same prompt" in shown.out
    assert shown.out.endswith("3 takes reviewed; the reviews are in your record.\n")
    assert "Recordings are discarded after their review." in shown.out
    assert shown.err == ""
    assert not set("\r\x1b\t\b") & set(shown.out + shown.err)
    assert stored_take_count() == 3


def test_nothing_is_recorded_before_a_key(run_session: RunSession) -> None:
    device = FakeMicrophone(spoken_take())
    assert run_session(device, "n", "s") == 0
    assert not device.opened
    assert run_session(device) == 0  # input ends at the first question
    assert not device.opened


def test_another_prompt_asks_for_something_else(
    run_session: RunSession, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run_session(FakeMicrophone(), "n", "n", "s", more=["--prompt", "answer"]) == 0
    lines = [line for line in capsys.readouterr().out.splitlines() if "has called you" in line]
    assert len(set(lines)) == 3


# --- the far end


def test_take_and_reference_voice_are_played_in_turn(
    run_session: RunSession, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    played_lengths: list[int] = []

    class FakeOutput:
        def play(self, clip: Clip, name: str) -> str:
            played_lengths.append(len(clip.samples))
            return ""

        def seconds_since_end(self) -> float:
            return 1.0

        def stop(self) -> None:
            played_lengths.append(0)

    monkeypatch.setattr("drill.cli.commands.speak.SoundCardOutput", FakeOutput)
    assert run_session(FakeMicrophone(spoken_take()), "", "f", "", "s") == 0
    out = capsys.readouterr().out
    assert out.index("Before you start") < out.index("100 W: you.")
    expected = [f"{watts} W: {voice}." for watts in (100, 20, 5) for voice in ("you", "meadow")]
    assert [line for line in out.splitlines() if line in expected] == expected
    assert played_lengths == [100, 200] * 3 + [0]


def test_without_a_reference_voice_the_review_is_kept(
    run_session: RunSession, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def fail(*_: object) -> None:
        raise NoVoice("no operator can speak on this computer: install one")

    monkeypatch.setattr("drill.cli.speak_dialogue.far_end_lines", fail)
    assert run_session(FakeMicrophone(spoken_take()), "", "f", "s") == 0
    shown = capsys.readouterr()
    assert shown.err == "faintcall: no operator can speak on this computer: install one\n"
    assert "Unknown key 'f'." in shown.out
    assert stored_take_count() == 1


def test_without_a_sound_card_the_session_continues(
    run_session: RunSession, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def fail(_: object) -> None:
        raise NoSoundCard("No sound: there is no output device")

    monkeypatch.setattr("drill.devices.output.SoundCard.__init__", fail)
    assert run_session(FakeMicrophone(spoken_take()), "", "f", "s") == 0
    shown = capsys.readouterr()
    assert shown.err.startswith("faintcall: No sound: there is no output device; or write")
    assert shown.err.endswith("--audio-to DIR\n")
    assert shown.err.count("\n") == 1
    assert "1 take reviewed" in shown.out


# --- failures


def test_without_a_microphone_the_command_explains_how_to_use_a_file(
    run_session: RunSession, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run_session(FakeMicrophone(device=False)) == 1
    shown = capsys.readouterr()
    assert "Give your own call" in shown.out
    assert "faintcall speak --prompt call --seed 4 --take FILE" in shown.out
    assert shown.err.startswith("faintcall: No microphone: no input device")
    assert shown.err.count("\n") == 1


def test_a_silent_microphone_is_reported_and_the_session_continues(
    run_session: RunSession, capsys: pytest.CaptureFixture[str]
) -> None:
    silence = np.zeros(31 * RATE_HZ, np.float32)
    assert run_session(FakeMicrophone(silence, spoken_take()), "", "", "s") == 0
    shown = capsys.readouterr()
    assert "only silence" in shown.err.splitlines()[0]
    assert shown.out.count("To be sent: E87ABC.") == 2  # again after the error
    assert stored_take_count() == 1
    assert run_session(FakeMicrophone(silence), "", "s") == 1
    assert "0 takes reviewed" in capsys.readouterr().out


def test_a_microphone_that_is_unplugged_loses_no_recording(
    run_session: RunSession, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    whole, part = spoken_take(), spoken_take()[: 2 * RATE_HZ]
    device = FakeMicrophone(whole, part)
    folder = tmp_path / "kept"
    assert run_session(device, "", "a", "s", more=["--keep-takes", str(folder)]) == 1
    shown = capsys.readouterr()
    assert "the input has been disconnected" in shown.err
    assert "1 take reviewed" in shown.out
    assert "Recordings are saved." in shown.out
    assert stored_take_count() == 1
    assert device.closed == 2
    first, second = sorted(folder.iterdir())
    assert np.allclose(read_audio(second).samples, part, atol=2**-14)
    assert read_audio(first).seconds > 2


def test_a_take_with_lost_samples_is_not_reviewed(
    run_session: RunSession, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def fail(_: object) -> Clip:
        raise UserError("samples were lost; record again")

    monkeypatch.setattr("drill.cli.speak_microphone.MicrophoneSource.record", fail)
    assert run_session(FakeMicrophone(), "", "s") == 0
    assert "samples were lost" in capsys.readouterr().err
    assert stored_take_count() == 0


def test_without_a_recogniser_nothing_is_asked(
    run_session: RunSession, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    from drill.recogniser.sphinx import PocketSphinxRecogniser

    monkeypatch.setitem(sys.modules, "pocketsphinx", None)
    monkeypatch.setattr("drill.cli.commands.speak.find_recogniser", PocketSphinxRecogniser)
    device = FakeMicrophone(spoken_take())
    assert run_session(device, "") == 1
    shown = capsys.readouterr()
    assert shown.out == ""
    assert "pip install pocketsphinx" in shown.err
    assert shown.err.count("\n") == 1
    assert not device.opened


def test_ctrl_c_during_a_recording_loses_no_review(
    run_session: RunSession, capsys: pytest.CaptureFixture[str]
) -> None:
    class InterruptedMicrophone(FakeMicrophone):
        """Raises KeyboardInterrupt in place of the second recording."""

        def InputStream(self, *, channels: int, callback: Any, **given: Any) -> SimpleNamespace:
            if len(self.sounds) == 1:
                raise KeyboardInterrupt
            return super().InputStream(channels=channels, callback=callback, **given)

    assert run_session(InterruptedMicrophone(spoken_take(), spoken_take()), "", "a") == 130
    shown = capsys.readouterr()
    assert "1 take reviewed" in shown.out
    assert "everything you finished is saved" in shown.err
    assert stored_take_count() == 1
