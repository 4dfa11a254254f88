"""faintcall record-words with a microphone: consent, stopping and continuing, wrong choices."""

import re
from pathlib import Path
from typing import Any

import pytest

from drill.cli import main
from drill.core.errors import NoMicrophone
from drill.core.models import Clip
from drill.voices.wordbank.storage import bank_names, load_bank
from tests.drill.cli.fake_microphone import QUIET_ROOM, install_microphone, type_lines
from tests.drill.word_recordings import recorded_word, words_in_bank

WITH_CONSENT = ["record-words", "mine", "--consent", "Test Voice"]


def test_recording_stops_and_continues_later(
    home: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    install_microphone(monkeypatch, QUIET_ROOM, recorded_word(1), recorded_word(2))
    type_lines(monkeypatch, "Test Voice", "yes", "", "", "", "q")
    assert main(["record-words", "mine"]) == 0
    text = capsys.readouterr().out
    assert "stay on this computer" in text
    assert "--delete" in text
    assert text.index("Word 1 of 37: alfa") < text.index("Word 2 of 37: bravo")
    assert re.search(r"alfa: 0\.4\d s, level -\d\d dB, peak -\d+ dB, \d\d dB above the", text)
    assert "2 words saved" in text
    assert "2 of 37 essential words" in text
    assert "faintcall record-words mine" in text.splitlines()[-1]
    assert words_in_bank("mine") == {"alfa", "bravo"}
    bank = load_bank("mine")
    assert bank is not None
    assert bank.consent.speaker == "Test Voice"

    install_microphone(monkeypatch, QUIET_ROOM, recorded_word(3))
    type_lines(monkeypatch, "", "", "q")
    assert main(["record-words", "mine"]) == 0
    assert "Word 1 of 35: charlie" in capsys.readouterr().out
    assert words_in_bank("mine") == {"alfa", "bravo", "charlie"}


def test_nothing_moves_on_the_screen_without_a_terminal(
    home: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Plain lines for a screen reader: no carriage return, no escape sequence."""
    install_microphone(monkeypatch, QUIET_ROOM, recorded_word(1))
    type_lines(monkeypatch, "", "", "q")
    main([*WITH_CONSENT, "--meter"])
    captured = capsys.readouterr()
    assert not set("\r\x1b\b") & set(captured.out + captured.err)


def test_the_end_of_input_ends_the_command(
    home: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    install_microphone(monkeypatch, QUIET_ROOM, recorded_word(1))
    type_lines(monkeypatch, "", "")
    assert main(WITH_CONSENT) == 0
    assert "1 word saved" in capsys.readouterr().out


def test_words_stay_saved_if_the_microphone_is_unplugged(
    home: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    fake = install_microphone(monkeypatch, QUIET_ROOM, recorded_word(1))

    def record(**options: Any) -> Clip:
        if len(fake.recorded_s) == 2:
            raise NoMicrophone("No microphone: the input has gone; plug it in")
        return fake.record(**options)

    monkeypatch.setattr("drill.devices.microphone.record_clip", record)
    type_lines(monkeypatch, "", "", "")
    assert main(WITH_CONSENT) == 1
    assert capsys.readouterr().err == "faintcall: No microphone: the input has gone; plug it in\n"
    assert words_in_bank("mine") == {"alfa"}


def test_a_missing_microphone_is_reported_before_the_first_question(
    home: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def fail(_: object) -> None:
        raise NoMicrophone("No microphone: none here; connect one")

    monkeypatch.setattr("drill.devices.microphone.Microphone.__init__", fail)
    type_lines(monkeypatch)
    assert main(["record-words", "mine"]) == 1
    captured = capsys.readouterr()
    assert captured.out == ""
    assert captured.err == "faintcall: No microphone: none here; connect one\n"
    assert bank_names() == ()


@pytest.mark.parametrize("answers", [("Test Voice", "no"), ("Test Voice", ""), ("Test Voice",), ()])
def test_nothing_is_recorded_without_consent(
    answers: tuple[str, ...],
    home: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    fake = install_microphone(monkeypatch, QUIET_ROOM)
    type_lines(monkeypatch, *answers)
    assert main(["record-words", "mine"]) == 2
    assert "consent" in capsys.readouterr().err
    assert not fake.recorded_s
    assert bank_names() == ()


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ([], "give the word bank a name"),
        (["Mine"], "bank name 'Mine' is not valid"),
        (["club", "--from", "nowhere-at-all"], "there is no folder nowhere-at-all"),
        (["club", "--from", "."], "no WAV or FLAC file"),
        (["club", "--check"], "there is no word bank 'club'; there are: none"),
        (["club", "--delete"], "there is no word bank 'club'"),
        (["club", "--only", "a b"], "'a b' is not a word"),
    ],
)
def test_a_wrong_choice_is_reported_in_one_line(
    arguments: list[str],
    message: str,
    home: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    home.mkdir()
    monkeypatch.chdir(home)
    assert main(["record-words", *arguments]) == 2
    error = capsys.readouterr().err
    assert message in error
    assert error.count("\n") == 1
