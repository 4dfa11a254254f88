"""faintcall record-words --from: a folder of recordings becomes a word bank."""

import re
from pathlib import Path

import numpy as np
import pytest
import soundfile

from drill import voices
from drill.cli import main
from drill.voices.operators import find_operator
from phonetics.message import Word
from tests.drill.word_recordings import RATE_HZ, recorded_word, words_in_bank

CLIPPED = np.clip(10 * recorded_word(), -1, 1)


@pytest.fixture
def folder(home: Path, tmp_path: Path) -> Path:
    """A folder of recordings with the file names that people choose."""
    folder = tmp_path / "files"
    folder.mkdir()
    for seed, name in enumerate(("Alpha.wav", "9.flac", "NINER.wav", "x ray.wav")):
        soundfile.write(folder / name, recorded_word(seed), RATE_HZ)
    (folder / "notes.txt").write_text("not a sound")
    return folder


def import_files(folder: Path, *more: str) -> int:
    arguments = ["record-words", "club", "--from", str(folder), "--consent", "Test Voice", *more]
    return main(arguments)


def test_a_folder_becomes_a_bank(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert import_files(folder) == 0
    text = capsys.readouterr().out
    assert words_in_bank("club") == {"alfa", "nine", "niner", "x-ray"}
    assert "4 words saved, 0 files skipped." in text
    assert "3 of 37 essential words, 1 of" in text
    words = [Word(say="alfa"), Word(say="niner")]
    clip = voices.find_engine("bank").synthesise(words, find_operator("bank-club"), 1)
    assert [time.say for time in clip.words] == ["alfa", "niner"]


def test_every_file_that_is_skipped_is_reported_in_a_line(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (folder / "bravo.wav").write_bytes(b"RIFF and no more")
    soundfile.write(folder / "charlie.wav", np.zeros(8000), RATE_HZ)
    soundfile.write(folder / "kelp.wav", recorded_word(), RATE_HZ)
    soundfile.write(folder / "alfa.wav", CLIPPED, RATE_HZ)
    assert import_files(folder) == 2
    lines = sorted(capsys.readouterr().err.splitlines())
    patterns = (
        r"Alpha\.wav|alfa\.wav: alfa was already taken from",
        r"bravo\.wav: .*cannot be read: ",
        r"charlie\.wav: the recording has no sound",
        r"kelp\.wav: its name is not a word",
    )
    assert len(lines) == len(patterns)
    for line, pattern in zip(lines, patterns, strict=True):
        assert line.startswith("faintcall: skipped ")
        assert re.search(pattern, line)
    assert words_in_bank("club") == {"alfa", "nine", "niner", "x-ray"}


def test_a_word_with_a_fault_is_saved_with_a_warning(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    soundfile.write(folder / "bravo.wav", CLIPPED, RATE_HZ)
    assert import_files(folder) == 0
    assert "Saved, but please check bravo: clipped" in capsys.readouterr().out
    assert "bravo" in words_in_bank("club")


def test_only_the_requested_words_are_taken(folder: Path) -> None:
    soundfile.write(folder / "kelp.wav", recorded_word(), RATE_HZ)
    assert import_files(folder, "--only", "kelp,nine") == 0
    assert words_in_bank("club") == {"kelp", "nine"}


def test_a_bank_has_only_one_speaker(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    import_files(folder)
    assert main(["record-words", "club", "--from", str(folder), "--consent", "Other Voice"]) == 2
    assert "a bank has only one speaker" in capsys.readouterr().err
