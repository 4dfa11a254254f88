"""Terminal output about word banks: a list of them, their missing words, and their deletion."""

import sys

from drill.core import audio_files
from drill.core.counting import plural
from drill.core.errors import UserError
from drill.voices.wordbank.signal_levels import word_level_db
from drill.voices.wordbank.storage import WordBank, bank_names, delete_bank, load_bank
from drill.voices.wordbank.wording import completeness_text, missing_words_text
from drill.voices.wordbank.words import essential_words, word_groups

_LEVEL_TOLERANCE_DB = 1.0


def print_banks() -> int:
    """Print speaker, completeness and folder of each bank; return the exit status.

    Raises: UserError if a bank cannot be read.
    """
    banks = [bank for name in bank_names() if (bank := load_bank(name)) is not None]
    for bank in banks:
        print(f"{bank.name}: {bank.consent.speaker}, consent given on {bank.consent.at[:10]}.")
        print(f"  {completeness_text(bank)}.")
        print(f"  {bank.folder}")
    if not banks:
        print("There is no word bank yet. To record one: faintcall record-words NAME")
    return 0


def is_usable(bank: WordBank) -> bool:
    """Return True if all essential words are recorded."""
    return all(word in bank.words for word in essential_words())


def print_completeness(bank: WordBank) -> None:
    """Print the words that a bank has and lacks, and how to use or complete it."""
    print(f"Bank {bank.name}: {completeness_text(bank)}.")
    for group in word_groups():
        missing = [word for word in group.words if word not in bank.words]
        if missing:
            kind = "optional" if group.optional else "essential"
            print(f"  Missing {group.title} ({kind}): {missing_words_text(missing, group)}")
    print_next_step(bank)


def print_next_step(bank: WordBank) -> None:
    """Print the command that uses a bank, or the one that completes it."""
    if is_usable(bank):
        print(f"To hear it: faintcall copy --voices bank-{bank.name}")
    else:
        print(f"To record the missing essential words: faintcall record-words {bank.name}")


def check_bank_files(bank: WordBank) -> int:
    """Check that a bank's files are unchanged and that it has all essential words.

    Prints a line for each file with a problem, and the bank's completeness. Returns the exit
    status, 1 if the check fails.
    """
    problems = 0
    for word in sorted(bank.words):
        problem = _file_problem(bank, word)
        if problem:
            problems += 1
            command = f"faintcall record-words {bank.name} --only {word}"
            print(f"faintcall: {word}: {problem}; record it again: {command}", file=sys.stderr)
    print_completeness(bank)
    return 0 if is_usable(bank) and not problems else 1


def _file_problem(bank: WordBank, word: str) -> str:
    """Return the problem with a word's file, "" if it has none."""
    try:
        level_db = word_level_db(audio_files.read_audio(bank.path(word)).samples)
    except UserError as error:
        return str(error)
    if abs(level_db - bank.level_db) < _LEVEL_TOLERANCE_DB:
        return ""
    return f"its level has changed to {level_db:.0f} dB"


def ask_and_delete_bank(bank: WordBank) -> int:
    """Delete a bank after the user has typed its name; return the exit status.

    Raises: UserError if the user types anything else, or the bank cannot be deleted.
    """
    recordings = plural(len(bank.words), "recording")
    print(f"{recordings} of {bank.consent.speaker}, in {bank.folder}")
    try:
        answer = input(f"To delete them for good, type {bank.name}: ").strip()
    except EOFError:
        answer = ""
    if answer != bank.name:
        raise UserError(f"nothing was deleted; to delete the recordings, type {bank.name}")
    delete_bank(bank)
    print("The recordings are deleted. Files that you rendered with this voice are still there.")
    return 0
