"""Reads a folder of existing recordings, one word per file, each file named after its word."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from drill.core import audio_files
from drill.core.errors import UserError
from drill.voices.wordbank.cut import CutWord, cut_word
from drill.voices.wordbank.words import word_from_file_name

_SUFFIXES = (".wav", ".flac")


@dataclass(frozen=True, kw_only=True, slots=True)
class SkippedFile:
    """A file that is not used, and the reason as a message for the user."""

    path: Path
    reason: str


def find_recordings(
    folder: Path, only: Sequence[str] = ()
) -> tuple[dict[str, Path], list[SkippedFile]]:
    """Return the file of each word in a folder, and the WAV and FLAC files that are not used.

    only: the words to use; empty for all words that an over can contain.
    Raises: UserError if the folder does not exist or has no WAV or FLAC file.
    """
    if not folder.is_dir():
        raise UserError(f"there is no folder {folder}; give a folder of WAV or FLAC files")
    paths = sorted(path for path in folder.iterdir() if path.suffix.lower() in _SUFFIXES)
    if not paths:
        raise UserError(f"no WAV or FLAC file in {folder}; name each file after its word")
    recordings: dict[str, Path] = {}
    skipped: list[SkippedFile] = []
    for path in paths:
        word = word_from_file_name(path.stem, tuple(only))
        if not word:
            reason = "its name is not a word that faintcall uses"
            skipped.append(SkippedFile(path=path, reason=reason))
        elif word in recordings:
            reason = f"{word} was already taken from {recordings[word].name}"
            skipped.append(SkippedFile(path=path, reason=reason))
        elif not only or word in only:
            recordings[word] = path
    return recordings, skipped


def cut_recording_file(path: Path) -> CutWord:
    """Return the word in a sound file, ready for a bank.

    Raises: UserError if the file cannot be read or has no word in it.
    """
    clip = audio_files.read_audio(path)
    return cut_word(clip.samples, clip.rate_hz)
