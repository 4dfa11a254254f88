"""A folder of recordings, one word a file, as it comes from whatever recorded it."""

from collections.abc import Sequence
from pathlib import Path

from drill.core import audio_files
from drill.core.errors import UserError
from drill.voices.wordbank.cut import Cut, cut
from drill.voices.wordbank.words import word_of

ENDINGS = (".wav", ".flac")


def recordings(
    folder: Path, only: Sequence[str] = ()
) -> tuple[dict[str, Path], list[tuple[Path, str]]]:
    """Return the file of every word in a folder, and the files that are refused with the reason.

    only: the words that are wanted, empty for all that can be said.
    Raises: UserError where there is no such folder, or no WAV or FLAC file in it.
    """
    if not folder.is_dir():
        raise UserError(f"there is no folder {folder}")
    paths = sorted(path for path in folder.iterdir() if path.suffix.lower() in ENDINGS)
    if not paths:
        raise UserError(f"there is no WAV or FLAC file in {folder}")
    found: dict[str, Path] = {}
    refused: list[tuple[Path, str]] = []
    for path in paths:
        word = word_of(path.stem, tuple(only))
        if not word:
            refused.append((path, "its name is no word that is said here"))
        elif word in found:
            refused.append((path, f"{word} is taken from {found[word].name} already"))
        elif not only or word in only:
            found[word] = path
    return found, refused


def take_in(path: Path) -> Cut:
    """Return the word in a file, ready for a bank. Raises: UserError where there is none."""
    clip = audio_files.read(path)
    return cut(clip.samples, clip.rate_hz)
