"""Listing, checking and deleting word banks."""

import re
from pathlib import Path

import pytest
import soundfile

from drill.cli import main
from drill.voices.wordbank.storage import WordBank, bank_names, create_bank, load_bank, save_word
from drill.voices.wordbank.words import essential_words
from tests.drill.cli.fake_microphone import type_lines
from tests.drill.word_recordings import CONSENT, cut_example, recorded_word


@pytest.fixture
def club(home: Path) -> WordBank:
    """A bank "club" with two words."""
    bank = create_bank("club", CONSENT)
    for seed, word in enumerate(("alfa", "nine")):
        recording = cut_example(seed)
        bank = save_word(bank, word, recording.samples, recording.seconds)
    return bank


def test_a_complete_bank_is_ready_to_use(
    club: WordBank, capsys: pytest.CaptureFixture[str]
) -> None:
    recording = cut_example()
    for word in essential_words():
        save_word(club, word, recording.samples, recording.seconds)
    assert main(["record-words", "club", "--check"]) == 0
    captured = capsys.readouterr()
    assert "37 of 37 essential words" in captured.out
    assert "faintcall copy --voices bank-club" in captured.out
    assert captured.err == ""
    assert main(["record-words", "--list"]) == 0
    assert "club: Test Voice, consent given on 2026-03-01." in capsys.readouterr().out
    assert main(["choices"]) == 0
    assert "  bank-club\n" in capsys.readouterr().out


def test_missing_words_are_listed(club: WordBank, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["record-words", "club", "--check"]) == 1
    text = capsys.readouterr().out
    essential = next(line for line in text.splitlines() if "(essential)" in line)
    assert "bravo" in essential
    assert "alfa" not in essential
    assert "faintcall record-words club" in text.splitlines()[-1]


def test_changed_and_missing_files_are_reported(
    club: WordBank, capsys: pytest.CaptureFixture[str]
) -> None:
    soundfile.write(club.path("nine"), 0.3 * recorded_word(), 24_000)
    club.path("alfa").unlink()
    assert main(["record-words", "club", "--check"]) == 1
    errors = capsys.readouterr().err
    assert re.search(r"nine: its level has changed to -\d+ dB; .*--only nine", errors)
    assert re.search(r"alfa: .*alfa-\w+\.wav cannot be read: .*--only alfa", errors)


def test_a_bank_is_deleted_only_if_its_name_is_typed(
    club: WordBank, home: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    for answers in (("no",), ()):
        type_lines(monkeypatch, *answers)
        assert main(["record-words", "club", "--delete"]) == 2
        assert "nothing was deleted" in capsys.readouterr().err
        assert load_bank("club") == club
    type_lines(monkeypatch, "club")
    assert main(["record-words", "club", "--delete"]) == 0
    assert not list((home / "data" / "banks").rglob("*.wav"))
    assert bank_names() == ()


def test_a_session_needs_a_bank_with_all_essential_words(
    club: WordBank, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for name, message in (
        ("bank-club", "lacks 35 of the 37"),
        ("bank-x", "no word bank 'bank-x'"),
    ):
        assert main(["copy", "--voices", name, "--audio-to", str(tmp_path)]) == 2
        error = capsys.readouterr().err
        assert message in error
        assert error.count("\n") == 1
