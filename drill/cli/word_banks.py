"""What the terminal tells of word banks: which there are, what they lack, that they are deleted."""

import sys
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from drill.voices.wordbank.folder import Bank
    from drill.voices.wordbank.words import Group


def list_all() -> int:
    """Print every bank: whose voice it is, how complete, where. Raises: UserError."""
    from drill.voices.wordbank import folder

    banks = [bank for name in folder.names() if (bank := folder.load(name)) is not None]
    for bank in banks:
        print(
            f"{bank.name}: voice of {bank.consent.speaker}, who agreed on {bank.consent.at[:10]}."
        )
        print(f"  {completeness(bank)}")
        print(f"  {bank.folder}")
    if not banks:
        print("There is no word bank yet. Record one with: faintcall record-words NAME")
    return 0


def completeness(bank: "Bank") -> str:
    """Return how many words there are, in a sentence."""
    from drill.voices.wordbank.words import groups

    essential, *others = groups()
    have = sum(word in bank.words for word in essential.words)
    more = len(bank.words) - have
    count = sum(len(group.words) for group in others)
    return f"{have} of {len(essential.words)} essential words, {more} of {count} others."


def tell_what_lacks(bank: "Bank") -> bool:
    """Print what the bank lacks and how it is used; return True where it can be used."""
    from drill.voices.wordbank.words import groups

    print(f"Bank {bank.name}: {completeness(bank)}")
    for group in groups():
        lack = [word for word in group.words if word not in bank.words]
        if lack:
            kind = "optional" if group.optional else "essential"
            print(f"  lacks of {group.title} ({kind}): {_short(lack, group)}")
    return tell_how_to_use(bank)


def tell_how_to_use(bank: "Bank") -> bool:
    """Print how the bank is used, or what it takes to use it; return True where it can be."""
    from drill.voices.wordbank.words import essential

    ready = all(word in bank.words for word in essential())
    if ready:
        print(f"Use: faintcall copy --voices bank-{bank.name}")
    else:
        print(f"It speaks when the essential words are there: faintcall record-words {bank.name}")
    return ready


def _short(lack: list[str], group: "Group") -> str:
    """Return the words that lack; of optional ones the first."""
    most = 8
    if len(lack) == len(group.words):
        return f"all {len(lack)}"
    if not group.optional or len(lack) <= most:
        return ", ".join(lack)
    return f"{', '.join(lack[:most])} and {len(lack) - most} more"


def counted(count: int, noun: str) -> str:
    """Return the count and the noun, in the plural where that is right."""
    return f"{count} {noun}" if count == 1 else f"{count} {noun}s"


def check(bank: "Bank") -> int:
    """Check every file against what was kept; return 1 where something is wrong or lacking."""
    from drill.core import audio_files
    from drill.core.errors import UserError
    from drill.voices.wordbank.cut import level_of

    wrong = 0
    for word in sorted(bank.words):
        try:
            clip = audio_files.read(bank.path(word))
            level_db = level_of(clip.samples)
            fault = (
                "" if abs(level_db - bank.level_db) < 1 else f"its level is {level_db:.0f} dB now"
            )
        except UserError as error:
            fault = str(error)
        if fault:
            wrong += 1
            print(f"faintcall: {word}: {fault}; record it again with --only", file=sys.stderr)
    return 0 if tell_what_lacks(bank) and not wrong else 1


def delete(bank: "Bank") -> int:
    """Delete after the name was typed. Raises: UserError where it was not."""
    from drill.core.errors import UserError
    from drill.voices.wordbank import folder

    print(f"{counted(len(bank.words), 'recording')} of {bank.consent.speaker}, in {bank.folder}")
    try:
        typed = input(f"Type {bank.name} to delete them for good: ").strip()
    except EOFError:
        typed = ""
    if typed != bank.name:
        raise UserError(f"nothing was deleted; that takes the name, {bank.name}")
    folder.delete(bank)
    print("They are deleted. Sets that were rendered in this voice are files of yours, not here.")
    return 0
