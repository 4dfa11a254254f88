"""A folder of recordings: each file is used for the word in its name."""

from pathlib import Path

import pytest
import soundfile

from drill.core.errors import UserError
from drill.voices.wordbank.recording_files import cut_recording_file, find_recordings
from tests.drill.word_recordings import RATE_HZ, recorded_word


def write_files(folder: Path, *names: str) -> None:
    for name in names:
        soundfile.write(folder / name, recorded_word(), RATE_HZ)


def test_files_are_found_by_their_words(tmp_path: Path) -> None:
    write_files(tmp_path, "Alpha.wav", "9.flac", "x ray.wav")
    (tmp_path / "notes.txt").write_text("not a sound")
    paths, skipped = find_recordings(tmp_path)
    assert {word: path.name for word, path in paths.items()} == {
        "alfa": "Alpha.wav",
        "nine": "9.flac",
        "x-ray": "x ray.wav",
    }
    assert not skipped


def test_a_second_file_for_a_word_and_an_unknown_name_are_skipped(tmp_path: Path) -> None:
    write_files(tmp_path, "9.wav", "nine.wav", "kelp.wav")
    paths, skipped = find_recordings(tmp_path)
    assert set(paths) == {"nine"}
    reasons = {file.path.name: file.reason for file in skipped}
    assert reasons == {
        "nine.wav": "nine was already taken from 9.wav",
        "kelp.wav": "its name is not a word that faintcall uses",
    }


def test_only_the_requested_words_are_taken(tmp_path: Path) -> None:
    write_files(tmp_path, "9.wav", "kelp.wav", "alfa.wav")
    paths, skipped = find_recordings(tmp_path, only=("kelp", "nine"))
    assert set(paths) == {"nine", "kelp"}
    assert not skipped


def test_a_folder_without_recordings_is_refused(tmp_path: Path) -> None:
    with pytest.raises(UserError, match="no WAV or FLAC file"):
        find_recordings(tmp_path)
    with pytest.raises(UserError, match="there is no folder"):
        find_recordings(tmp_path / "nowhere")


def test_the_word_of_a_file_is_cut_out(tmp_path: Path) -> None:
    write_files(tmp_path, "alfa.wav")
    assert cut_recording_file(tmp_path / "alfa.wav").seconds == pytest.approx(0.4, abs=0.05)
