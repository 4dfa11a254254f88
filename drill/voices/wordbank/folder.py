"""Word banks on the disk: a folder each, with bank.toml and a sound file for every word.

bank.toml says what the bank holds; a word is in it from the moment that the file is replaced. The
name of a sound file holds a digest of the sound, so a take never overwrites another: killed at any
moment, a bank holds either the old take or the new one. Nothing leaves the folder.
"""

import hashlib
import json
import os
import re
import shutil
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from drill.core import audio_files
from drill.core.errors import UserError, one_line
from drill.core.models import Clip, Samples
from drill.core.paths import data_folder
from drill.voices.wordbank.cut import LEVEL_DB, RATE_HZ
from drill.voices.wordbank.words import FORM, parts_of

PURPOSE = "to be a voice of practice in faintcall, on the machine that it is kept on"
SCHEMA = 1
FILE = "bank.toml"
_NAME = re.compile(r"[a-z0-9][a-z0-9-]{0,30}")
_HEAD = """# A word bank of faintcall: recordings of one speaker, who agreed to it.
# They stay on this machine. To delete them: faintcall record-words {name} --delete
"""


@dataclass(frozen=True, kw_only=True, slots=True)
class Consent:
    """Who agreed to be recorded, when (ISO 8601), and what for."""

    speaker: str
    at: str
    purpose: str = PURPOSE

    def __post_init__(self) -> None:
        """Check the name. Raises: UserError."""
        good = self.speaker.strip() == self.speaker and self.speaker.isprintable()
        if not good or not 1 <= len(self.speaker) <= 60:
            raise UserError(
                f"the speaker's name {self.speaker!r} is none; give 1 to 60 printable characters"
            )


@dataclass(frozen=True, kw_only=True, slots=True)
class Take:
    """One word as it is kept: the name of its file, and how long it sounds."""

    file: str
    seconds: float


@dataclass(frozen=True, kw_only=True, slots=True)
class Bank:
    """A word bank: its folder, whose voice it is, and the words there are."""

    folder: Path
    consent: Consent
    rate_hz: int = RATE_HZ
    level_db: float = LEVEL_DB
    words: Mapping[str, Take] = field(default_factory=dict)

    @property
    def name(self) -> str:
        """Return the bank's name, which is the folder's."""
        return self.folder.name

    def says(self, word: str) -> bool:
        """Return True where the word can be said, from its parts too (twenty-six)."""
        return word in self.words or all(part in self.words for part in parts_of(word))

    def path(self, word: str) -> Path:
        """Return where a word's sound is. Raises: KeyError."""
        return self.folder / self.words[word].file


def banks_folder() -> Path:
    """Return the folder of all banks; it may not exist yet."""
    return data_folder() / "banks"


def names() -> tuple[str, ...]:
    """Return the names of the banks there are, in alphabetical order."""
    found = banks_folder().glob(f"*/{FILE}")
    return tuple(sorted(path.parent.name for path in found if _NAME.fullmatch(path.parent.name)))


def check_name(name: str) -> None:
    """Raise UserError where a bank cannot have that name."""
    if not _NAME.fullmatch(name):
        raise UserError(
            f"{name!r} is no name for a bank; use 1 to 31 small letters, digits and hyphens"
        )


def load(name: str) -> Bank | None:
    """Return the bank of that name, None where there is none.

    Raises: UserError where the name is none, or bank.toml cannot be read.
    """
    check_name(name)
    folder = banks_folder() / name
    try:
        data = tomllib.loads((folder / FILE).read_text("utf-8"))
    except FileNotFoundError:
        return None
    except (OSError, ValueError) as error:  # not UTF-8, or not TOML
        raise UserError(f"{folder / FILE} cannot be read: {one_line(error)}") from None
    try:
        return _bank(folder, data)
    except (KeyError, TypeError, AttributeError) as error:
        raise UserError(f"{folder / FILE} is damaged at {one_line(error)}") from None


def _bank(folder: Path, data: Mapping[str, Any]) -> Bank:
    if data["schema"] != SCHEMA or data["rate_hz"] != RATE_HZ:
        raise UserError(f"{folder / FILE} is of another version of faintcall; record a new bank")
    words = {word: Take(**take) for word, take in data["words"].items()}
    for word, take in words.items():
        if not FORM.fullmatch(word) or Path(take.file).name != take.file:
            raise UserError(f"{folder / FILE} is damaged at the word {word!r}")
    consent = Consent(**data["consent"])
    return Bank(folder=folder, consent=consent, level_db=data["level_db"], words=words)


def create(name: str, consent: Consent) -> Bank:
    """Return a new bank without words, which is on the disk then.

    Raises: UserError where the name is none or taken, or the folder cannot be written.
    """
    if load(name) is not None:
        raise UserError(f"there is a bank {name!r} already; choose another name")
    bank = Bank(folder=audio_files.folder(banks_folder() / name), consent=consent)
    _write(bank)
    return bank


def keep(bank: Bank, word: str, samples: Samples, seconds: float) -> Bank:
    """Return the bank with a take of the word, in place of an older one; it is on the disk then.

    samples: as drill.voices.wordbank.cut gives them. seconds: how long they sound.
    Raises: UserError where the word is not in the form of one, or a file cannot be written.
    """
    if not FORM.fullmatch(word):
        raise UserError(f"{word!r} is no word; use letters, hyphen and apostrophe")
    digest = hashlib.sha256(samples.astype("<f4").tobytes()).hexdigest()[:8]
    take = Take(file=f"{word.replace(chr(39), '')}-{digest}.wav", seconds=round(seconds, 3))
    audio_files.write(bank.folder / take.file, Clip(samples=samples, rate_hz=RATE_HZ))
    newest = load(bank.name) or bank  # another process may have recorded meanwhile
    before = newest.words.get(word)
    after = replace(newest, words={**newest.words, word: take})
    _write(after)
    if before is not None and before.file not in {each.file for each in after.words.values()}:
        (bank.folder / before.file).unlink(missing_ok=True)
    return after


def delete(bank: Bank) -> None:
    """Delete a bank and every recording in it. Raises: UserError where that fails."""
    try:
        shutil.rmtree(bank.folder)
    except OSError as error:
        raise UserError(f"{bank.folder} cannot be deleted: {one_line(error)}") from None


def _write(bank: Bank) -> None:
    """Write bank.toml; it is there whole or not at all. Raises: UserError."""
    lines = [
        _HEAD.format(name=bank.name),
        f"schema = {SCHEMA}",
        f"rate_hz = {bank.rate_hz}",
        f"level_db = {bank.level_db}  # active speech level of every word, ITU-T P.56",
        "\n[consent]",
        f"speaker = {_text(bank.consent.speaker)}",
        f"at = {_text(bank.consent.at)}",
        f"purpose = {_text(bank.consent.purpose)}",
        "\n[words]",
        *(
            f"{_text(word)} = {{ file = {_text(take.file)}, seconds = {take.seconds} }}"
            for word, take in sorted(bank.words.items())
        ),
    ]
    temporary = bank.folder / f".{FILE}.{os.getpid()}"
    try:
        temporary.write_text("\n".join(lines) + "\n", "utf-8")
        temporary.replace(bank.folder / FILE)
    except OSError as error:
        temporary.unlink(missing_ok=True)
        raise UserError(f"{bank.folder / FILE} cannot be written: {one_line(error)}") from None


def _text(text: str) -> str:
    """Return a basic string of TOML, which JSON's is too once it is printable."""
    return json.dumps(text, ensure_ascii=False)
