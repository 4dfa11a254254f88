"""Word banks on disk: a folder for each bank, with bank.toml and a sound file for every word.

bank.toml lists the words of the bank; a new recording takes effect when bank.toml is replaced. The
name of a sound file contains a digest of the sound, so a new recording never overwrites an older
one. If the program is killed, a bank therefore holds either the old recording or the new one.
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
from drill.core.errors import UserError, single_line
from drill.core.models import Clip, Samples
from drill.core.paths import data_folder
from drill.voices.wordbank.signal_levels import BANK_LEVEL_DB, BANK_RATE_HZ
from drill.voices.wordbank.words import WORD_PATTERN, word_parts

BANK_FILE = "bank.toml"
CONSENT_PURPOSE = "to be a practice voice in faintcall, on the computer where it is stored"
_SCHEMA = 1
_BANK_NAME = re.compile(r"[a-z0-9][a-z0-9-]{0,30}")
_HEADER = """# A word bank of faintcall: recordings of one speaker, who agreed to them.
# They stay on this computer. To delete them: faintcall record-words {name} --delete
"""


@dataclass(frozen=True, kw_only=True, slots=True)
class Consent:
    """A speaker's consent to be recorded.

    speaker: the speaker's name. at: when consent was given, ISO 8601. purpose: the use that it
    covers.
    Raises: UserError if the name is not 1 to 60 printable characters.
    """

    speaker: str
    at: str
    purpose: str = CONSENT_PURPOSE

    def __post_init__(self) -> None:
        """Check the speaker's name."""
        valid = self.speaker.strip() == self.speaker and self.speaker.isprintable()
        if not valid or not 1 <= len(self.speaker) <= 60:
            raise UserError(
                f"speaker's name {self.speaker!r} is not valid; give 1 to 60 printable characters",
                field="speaker",
            )


@dataclass(frozen=True, kw_only=True, slots=True)
class WordRecording:
    """A recorded word in a bank: the name of its file, and the length of the word in seconds."""

    file: str
    seconds: float


@dataclass(frozen=True, kw_only=True, slots=True)
class WordBank:
    """A word bank: its folder, the speaker's consent, and the recorded words.

    rate_hz, level_db: sample rate and active speech level (ITU-T P.56) of all its words.
    """

    folder: Path
    consent: Consent
    rate_hz: int = BANK_RATE_HZ
    level_db: float = BANK_LEVEL_DB
    words: Mapping[str, WordRecording] = field(default_factory=dict)

    @property
    def name(self) -> str:
        """Return the bank's name, which is also its folder's name."""
        return self.folder.name

    def can_say(self, word: str) -> bool:
        """Return True if the word, or each of its parts, is recorded ("twenty-six" has two)."""
        return word in self.words or all(part in self.words for part in word_parts(word))

    def path(self, word: str) -> Path:
        """Return the path of a word's sound file. Raises: KeyError if it is not recorded."""
        return self.folder / self.words[word].file


def banks_folder() -> Path:
    """Return the folder of all banks; it may not exist yet."""
    return data_folder() / "banks"


def bank_names() -> tuple[str, ...]:
    """Return the names of all banks on this computer, in alphabetical order."""
    folders = (path.parent.name for path in banks_folder().glob(f"*/{BANK_FILE}"))
    return tuple(sorted(name for name in folders if _BANK_NAME.fullmatch(name)))


def check_bank_name(name: str) -> None:
    """Check that a bank can have this name. Raises: UserError if it cannot."""
    if not _BANK_NAME.fullmatch(name):
        raise UserError(
            f"bank name {name!r} is not valid; use 1 to 31 lower-case letters, digits and hyphens",
            field="name",
        )


def load_bank(name: str) -> WordBank | None:
    """Return the bank with this name, None if there is none.

    Raises: UserError if the name is not valid or bank.toml cannot be read.
    """
    check_bank_name(name)
    folder = banks_folder() / name
    try:
        data = tomllib.loads((folder / BANK_FILE).read_text("utf-8"))
    except FileNotFoundError:
        return None
    except (OSError, ValueError, RecursionError) as error:  # not UTF-8, or not TOML
        raise UserError(f"{folder / BANK_FILE} cannot be read: {single_line(error)}") from None
    try:
        return _bank_from_data(folder, data)
    except (LookupError, TypeError, ValueError, AttributeError) as error:
        raise UserError(f"{folder / BANK_FILE} is damaged at {single_line(error)}") from None


def _bank_from_data(folder: Path, data: Mapping[str, Any]) -> WordBank:
    """Return the bank described by the content of bank.toml.

    Raises: UserError, KeyError, TypeError or AttributeError if the content is damaged.
    """
    if data["schema"] != _SCHEMA or data["rate_hz"] != BANK_RATE_HZ:
        raise UserError(
            f"{folder / BANK_FILE} was written by another version of faintcall; record a new bank"
        )
    words = {word: WordRecording(**recording) for word, recording in data["words"].items()}
    for word, recording in words.items():
        if not WORD_PATTERN.fullmatch(word) or Path(recording.file).name != recording.file:
            raise UserError(f"{folder / BANK_FILE} is damaged at the word {word!r}")
    consent = Consent(**data["consent"])
    return WordBank(folder=folder, consent=consent, level_db=data["level_db"], words=words)


def create_bank(name: str, consent: Consent) -> WordBank:
    """Create a bank without words on disk and return it.

    Raises: UserError if the name is not valid or in use, or the folder cannot be written.
    """
    if load_bank(name) is not None:
        raise UserError(f"there is already a bank {name!r}; choose another name")
    bank = WordBank(folder=audio_files.make_folder(banks_folder() / name), consent=consent)
    _write_bank_file(bank)
    return bank


def save_word(bank: WordBank, word: str, samples: Samples, seconds: float) -> WordBank:
    """Save a recording of a word on disk, replacing an older one, and return the changed bank.

    samples, seconds: as in drill.voices.wordbank.cut.CutWord.
    Raises: UserError if the word contains characters that are not allowed, or a file cannot be
    written.
    """
    if not WORD_PATTERN.fullmatch(word):
        raise UserError(
            f"{word!r} is not a word; use lower-case letters, hyphens and apostrophes", field="word"
        )
    digest = hashlib.sha256(samples.astype("<f4").tobytes()).hexdigest()[:8]
    file = f"{word.replace(chr(39), '')}-{digest}.wav"
    audio_files.write_audio(bank.folder / file, Clip(samples=samples, rate_hz=BANK_RATE_HZ))
    newest = load_bank(bank.name) or bank  # another process may have recorded a word meanwhile
    replaced = newest.words.get(word)
    recording = WordRecording(file=file, seconds=round(seconds, 3))
    changed = replace(newest, words={**newest.words, word: recording})
    _write_bank_file(changed)
    used_files = {recording.file for recording in changed.words.values()}
    if replaced is not None and replaced.file not in used_files:
        (bank.folder / replaced.file).unlink(missing_ok=True)
    return changed


def delete_bank(bank: WordBank) -> None:
    """Delete a bank with all its recordings. Raises: UserError if the folder cannot be deleted."""
    try:
        shutil.rmtree(bank.folder)
    except OSError as error:
        raise UserError(f"{bank.folder} cannot be deleted: {single_line(error)}") from None


def _write_bank_file(bank: WordBank) -> None:
    """Write bank.toml completely or not at all. Raises: UserError if it cannot be written."""
    lines = [
        _HEADER.format(name=bank.name),
        f"schema = {_SCHEMA}",
        f"rate_hz = {bank.rate_hz}",
        f"level_db = {bank.level_db}  # active speech level of every word, ITU-T P.56",
        "\n[consent]",
        f"speaker = {_toml_string(bank.consent.speaker)}",
        f"at = {_toml_string(bank.consent.at)}",
        f"purpose = {_toml_string(bank.consent.purpose)}",
        "\n[words]",
        *(
            f"{_toml_string(word)} = "
            f"{{ file = {_toml_string(recording.file)}, seconds = {recording.seconds} }}"
            for word, recording in sorted(bank.words.items())
        ),
    ]
    temporary = bank.folder / f".{BANK_FILE}.{os.getpid()}"
    try:
        temporary.write_text("\n".join(lines) + "\n", "utf-8")
        temporary.replace(bank.folder / BANK_FILE)
    except OSError as error:
        temporary.unlink(missing_ok=True)
        raise UserError(
            f"{bank.folder / BANK_FILE} cannot be written: {single_line(error)}"
        ) from None


def _toml_string(text: str) -> str:
    """Return the text as a TOML string; for printable text, a JSON string is the same."""
    return json.dumps(text, ensure_ascii=False)
