"""faintcall record-words: record your own voice, or a club member's, word by word."""

import argparse
import sys
from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

from tqdm import tqdm

from drill.cli.audio_out import SoundCardOutput
from drill.cli.caution import confirm_caution
from drill.cli.options import comma_separated
from drill.cli.word_banks import (
    ask_and_delete_bank,
    check_bank_files,
    is_usable,
    print_banks,
    print_completeness,
    print_next_step,
)
from drill.cli.word_recorder import WordRecorder
from drill.cli.wrapping import print_text
from drill.core.counting import plural
from drill.core.errors import NoSoundCard, UserError
from drill.core.models import Clip
from drill.core.paths import record_file
from drill.devices import microphone
from drill.records.store import Store
from drill.sending.enrolled_voices import enrolled_names
from drill.voices.wordbank.recording_files import (
    SkippedFile,
    cut_recording_file,
    find_recordings,
)
from drill.voices.wordbank.storage import (
    Consent,
    WordBank,
    bank_names,
    banks_folder,
    create_bank,
    load_bank,
    save_word,
)
from drill.voices.wordbank.wording import completeness_text, fault_text
from drill.voices.wordbank.words import WORD_PATTERN, WordGroup, word_groups

_EXAMPLES = """examples:
  faintcall record-words mine                      record words with the microphone
  faintcall record-words mine                      continue where you stopped
  faintcall record-words mine --only zulu,nine     record these two words again
  faintcall record-words club --from FOLDER --consent NAME
  faintcall record-words mine --check
  faintcall copy --voices bank-mine                hear calls in this voice

In a folder, each file is named after its word: alfa.wav, alpha.flac, 9.wav, nine.wav. A new
recording replaces the old one. Recordings stay on this computer; --delete deletes them.
"""
_PRIVACY = """The recordings stay on this computer, in {folder}
and are never sent anywhere. To delete them: faintcall record-words {name} --delete"""


def add(command: argparse.ArgumentParser) -> None:
    """Add the options of `faintcall record-words`."""
    command.description = (
        "Record code words, figures and procedure words with the microphone, or take them from "
        "sound files. They become the voice bank-NAME. The speaker has to agree."
    )
    command.epilog = _EXAMPLES
    command.add_argument(
        "name",
        nargs="?",
        metavar="NAME",
        help="name of the word bank: lower-case letters, digits and hyphens",
    )
    command.add_argument(
        "--from",
        type=Path,
        dest="source",
        metavar="FOLDER",
        help="take WAV and FLAC files named after their words, instead of the microphone",
    )
    command.add_argument(
        "--only",
        type=comma_separated,
        default=(),
        metavar="A,B",
        help="record only these words, even if they are recorded already",
    )
    command.add_argument(
        "--consent", metavar="NAME", help="this speaker has agreed; faintcall does not ask again"
    )
    command.add_argument(
        "--meter", action="store_true", help="show a moving level meter during recording"
    )
    action = command.add_mutually_exclusive_group()
    action.add_argument("--list", action="store_true", help="list all word banks")
    action.add_argument(
        "--check", action="store_true", help="check the bank's files and list the missing words"
    )
    action.add_argument("--delete", action="store_true", help="delete the bank's recordings")


def run(options: argparse.Namespace) -> int:
    """Run the command and return the exit status. Raises: UserError, NoMicrophone."""
    if options.list:
        return print_banks()
    if options.name is None:
        raise UserError("give the word bank a name: faintcall record-words NAME")
    bank = load_bank(options.name)
    if options.check or options.delete:
        if bank is None:
            banks = ", ".join(bank_names()) or "none"
            raise UserError(f"there is no word bank {options.name!r}; there are: {banks}")
        if options.check:
            return check_bank_files(bank)
        if bank.name in enrolled_names():
            print_text(
                "The recogniser has learnt this voice too. To make it forget the voice: "
                f"faintcall enrol {bank.name} --delete"
            )
        return ask_and_delete_bank(bank)
    _check_words(options.only)
    if options.source is None:
        return _record_with_microphone(options, bank)
    return _import_files(options, bank)


def _check_words(words: Sequence[str]) -> None:
    for word in words:
        if not WORD_PATTERN.fullmatch(word):
            raise UserError(
                f"--only: {word!r} is not a word; use lower-case letters, hyphens and apostrophes"
            )


def _open_or_create(options: argparse.Namespace, bank: WordBank | None) -> WordBank:
    """Return the bank; create it with its speaker's consent if it is new. Raises: UserError."""
    if bank is not None:
        if options.consent not in (None, bank.consent.speaker):
            raise UserError(
                f"bank {bank.name!r} has the voice of {bank.consent.speaker}, not of "
                f"{options.consent}; a bank has only one speaker, so choose another name"
            )
        return bank
    print_text(_PRIVACY.format(folder=banks_folder() / options.name, name=options.name))
    speaker = options.consent if options.consent is not None else _ask_for_consent()
    now = datetime.now(UTC).isoformat(timespec="seconds")
    return create_bank(options.name, Consent(speaker=speaker, at=now))


def _ask_for_consent() -> str:
    """Return the name of the speaker who agrees. Raises: UserError without consent."""
    try:
        speaker = input("Who is speaking? Name: ").strip()
        print_text("They are used only as a practice voice in faintcall on this computer.")
        answer = input(f"Does {speaker or 'the speaker'} agree? Type yes: ").strip().lower()
    except EOFError:
        answer = ""
    if answer != "yes":
        raise UserError(
            "nothing is recorded without the speaker's consent; type yes, or give --consent NAME"
        )
    return speaker


def _import_files(options: argparse.Namespace, bank: WordBank | None) -> int:
    """Save the words of a folder; return 2 if a file was skipped. Raises: UserError."""
    paths, skipped = find_recordings(options.source, options.only)
    bank = _open_or_create(options, bank)
    warnings, saved_count = [], 0
    for word, path in tqdm(paths.items(), unit="word", disable=None, file=sys.stderr, leave=False):
        try:
            recording = cut_recording_file(path)
        except UserError as error:
            skipped.append(SkippedFile(path=path, reason=str(error)))
            continue
        bank = save_word(bank, word, recording.samples, recording.seconds)
        saved_count += 1
        warnings += [f"{word}: {fault_text(fault, recording)}" for fault in recording.faults]
    for warning in warnings:
        print_text(f"Saved, but please check {warning}.")
    for file in skipped:
        print(f"faintcall: skipped {file.path}: {file.reason}", file=sys.stderr)
    print_text(f"{plural(saved_count, 'word')} saved, {plural(len(skipped), 'file')} skipped.")
    print_completeness(bank)
    return 2 if skipped else 0


def _record_with_microphone(options: argparse.Namespace, bank: WordBank | None) -> int:
    """Record the missing words, or those of --only. Raises: UserError, NoMicrophone."""
    microphone.Microphone().close()  # reports a missing microphone before the first question
    bank = _open_or_create(options, bank)
    groups = _groups_to_record(bank, options.only)
    if not groups:
        print_text(
            "All words are recorded. To record some of them again: "
            f"faintcall record-words {bank.name} --only WORD,WORD"
        )
        return 0
    recorder = WordRecorder(
        bank, record=microphone.record_clip, play=_play, live_meter=options.meter
    )
    try:
        recorder.run(groups)
    except EOFError:
        print()
    finally:
        print_text(f"\n{plural(recorder.saved_count, 'word')} saved on disk.")
    print_text(f"Bank {bank.name}: {completeness_text(recorder.bank)}.")
    print_next_step(recorder.bank)
    if is_usable(recorder.bank) and _groups_to_record(recorder.bank):
        print_text(f"To record more words: faintcall record-words {bank.name}")
    return 0


def _groups_to_record(bank: WordBank, only: tuple[str, ...] = ()) -> list[WordGroup]:
    """Return the words that the bank lacks in their groups, or a group with the words of `only`."""
    if only:
        return [WordGroup(title="chosen words", words=only, optional=False)]
    groups = [
        replace(group, words=tuple(word for word in group.words if word not in bank.words))
        for group in word_groups()
    ]
    return [group for group in groups if group.words]


def _play(clip: Clip) -> None:
    """Play a recording to its end, after the hearing caution; print why if it cannot be played."""
    try:
        speaker = SoundCardOutput()
        with Store(record_file()) as store:
            confirm_caution(store)
        speaker.play(clip, "take")
        speaker.wait()
        speaker.stop()
    except NoSoundCard as error:
        print_text(f"{error}.")
