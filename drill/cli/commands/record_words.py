"""faintcall record-words: the user's own voice, or a club member's, word by word."""

import argparse
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from drill.cli.options import names
from drill.cli.word_banks import (
    check,
    completeness,
    counted,
    delete,
    list_all,
    tell_how_to_use,
    tell_what_lacks,
)

if TYPE_CHECKING:
    from drill.core.models import Clip
    from drill.voices.wordbank.folder import Bank
    from drill.voices.wordbank.words import Group

EXAMPLES = """examples:
  faintcall record-words mine                      walk through the words with the microphone
  faintcall record-words mine                      once more: go on where it was stopped
  faintcall record-words mine --only zulu,nine     record these again
  faintcall record-words club --from FOLDER --consent NAME
  faintcall record-words mine --check
  faintcall copy --voices bank-mine                hear calls in that voice

The files of a folder are named after their words: alfa.wav, alpha.flac, 9.wav, nine.wav. A word
that is in the bank already is replaced. Recordings stay on this machine; --delete deletes them.
"""
KEEPING = """Recordings stay on this machine, in {folder}
and are sent nowhere. To delete them all: faintcall record-words {name} --delete"""


def add(command: argparse.ArgumentParser) -> None:
    """Add the options of `faintcall record-words`."""
    command.description = (
        "Record code words, figures and procedure words with the microphone, or take "
        "them from a folder, as a voice of its own: bank-NAME. The speaker has to agree."
    )
    command.epilog = EXAMPLES
    command.add_argument(
        "name", nargs="?", metavar="NAME", help="of the bank: small letters, digits and hyphens"
    )
    command.add_argument(
        "--from",
        type=Path,
        dest="source",
        metavar="FOLDER",
        help="take WAV and FLAC files named after their words, instead of the microphone",
    )
    command.add_argument(
        "--only", type=names, default=(), metavar="A,B", help="these words, recorded or not"
    )
    command.add_argument(
        "--consent",
        metavar="NAME",
        help="say that this speaker has agreed, where nobody is there to be asked",
    )
    command.add_argument(
        "--meter", action="store_true", help="show a meter that moves while a word is recorded"
    )
    doing = command.add_mutually_exclusive_group()
    doing.add_argument("--list", action="store_true", help="list the banks there are")
    doing.add_argument(
        "--check", action="store_true", help="check the bank's files, and list what it lacks"
    )
    doing.add_argument("--delete", action="store_true", help="delete the bank's recordings")


def run(options: argparse.Namespace) -> int:
    """Do what was asked for. Raises: UserError, NoMicrophone."""
    from drill.core.errors import UserError
    from drill.voices.wordbank import folder

    if options.list:
        return list_all()
    if options.name is None:
        raise UserError("give the bank a name: faintcall record-words NAME")
    bank = folder.load(options.name)
    if options.check or options.delete:
        if bank is None:
            there = ", ".join(folder.names()) or "none"
            raise UserError(f"there is no bank {options.name!r}; there are: {there}")
        return check(bank) if options.check else delete(bank)
    _check_words(options.only)
    if options.source is None:
        return _walk(options, bank)
    return _take_in(options, bank)


def _check_words(words: tuple[str, ...]) -> None:
    from drill.core.errors import UserError
    from drill.voices.wordbank.words import FORM

    for word in words:
        if not FORM.fullmatch(word):
            raise UserError(f"--only {word!r} is no word; use small letters, hyphen, apostrophe")


def _with_consent(options: argparse.Namespace, bank: "Bank | None") -> "Bank":
    """Return the bank, made with its speaker's consent where it is new. Raises: UserError."""
    from drill.core.errors import UserError
    from drill.voices.wordbank import folder

    if bank is not None:
        if options.consent not in (None, bank.consent.speaker):
            raise UserError(
                f"bank {bank.name!r} is the voice of {bank.consent.speaker}, not of "
                f"{options.consent}; one bank is one speaker, so choose another name"
            )
        return bank
    print(KEEPING.format(folder=folder.banks_folder() / options.name, name=options.name))
    speaker = options.consent if options.consent is not None else _asked()
    now = datetime.now(UTC).isoformat(timespec="seconds")
    return folder.create(options.name, folder.Consent(speaker=speaker, at=now))


def _asked() -> str:
    """Return the name of a speaker who agreed. Raises: UserError where none did."""
    from drill.core.errors import UserError

    try:
        speaker = input("Whose voice is it? Name: ").strip()
        print("It will be a voice of practice in faintcall on this machine, and nothing else.")
        agreed = input(f"Does {speaker or 'the speaker'} agree? Type yes: ").strip().lower()
    except EOFError:
        agreed = ""
    if agreed != "yes":
        raise UserError(
            "without the speaker's consent nothing is recorded; --consent NAME gives it"
        )
    return speaker


def _take_in(options: argparse.Namespace, bank: "Bank | None") -> int:
    """Take words from a folder; return 2 where a file was refused, the others are taken."""
    import sys

    from tqdm import tqdm

    from drill.core.errors import UserError
    from drill.voices.wordbank import folder
    from drill.voices.wordbank.files import recordings, take_in

    found, refused = recordings(options.source, options.only)
    bank = _with_consent(options, bank)
    warned, taken = [], 0
    for word, path in tqdm(found.items(), unit="word", disable=None, file=sys.stderr, leave=False):
        try:
            made = take_in(path)
        except UserError as error:
            refused.append((path, str(error)))
            continue
        bank = folder.keep(bank, word, made.samples, made.seconds)
        taken += 1
        warned += [f"{word}: {fault}" for fault in made.faults]
    for line in warned:
        print(f"Taken, but {line}.")
    for path, why in refused:
        told = why if str(path) in why else f"{path}: {why}"
        print(f"faintcall: not taken: {told}", file=sys.stderr)
    print(f"{counted(taken, 'word')} taken, {counted(len(refused), 'file')} refused.")
    tell_what_lacks(bank)
    return 2 if refused else 0


def _walk(options: argparse.Namespace, bank: "Bank | None") -> int:
    """Record with the microphone. Raises: UserError, NoMicrophone."""
    from drill.cli.word_walk import Walk
    from drill.devices.microphone import Microphone, record

    Microphone().close()  # where there is none, this is said before anything is asked
    bank = _with_consent(options, bank)
    todo = _todo(bank, options.only)
    if not todo:
        print("Every word is there. --only A,B records words again.")
        return 0
    walk = Walk(bank, record=record, play=_play, moving=options.meter)
    try:
        walk.run(todo)
    except EOFError:
        print()
    finally:
        print(f"\n{counted(walk.kept, 'word')} kept, every one on the disk at once.")
    print(f"Bank {bank.name}: {completeness(walk.bank)}")
    if tell_how_to_use(walk.bank) and _todo(walk.bank, ()):
        print(f"More words: faintcall record-words {bank.name}")
    return 0


def _todo(bank: "Bank", only: tuple[str, ...]) -> "list[Group]":
    """Return the groups with the words that are still to be recorded, or those named."""
    from dataclasses import replace

    from drill.voices.wordbank.words import Group, groups

    if only:
        return [Group(title="words asked for", words=only, optional=False)]
    rest = [
        replace(group, words=tuple(word for word in group.words if word not in bank.words))
        for group in groups()
    ]
    return [group for group in rest if group.words]


def _play(clip: "Clip") -> None:
    """Play a take to its end, after the caution; say why where that cannot be."""
    from drill.cli.audio_out import Speaker
    from drill.cli.caution import caution
    from drill.core.errors import NoSoundCard
    from drill.core.paths import record_file
    from drill.records.store import Store

    try:
        speaker = Speaker()
        with Store(record_file()) as store:
            caution(store)
        speaker.play(clip, "take")
        speaker.wait()
        speaker.stop()
    except NoSoundCard as lack:
        print(str(lack).partition("; or let")[0] + ".")
