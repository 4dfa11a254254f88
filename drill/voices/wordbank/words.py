"""Which words a word bank holds, in the order of recording, and the file names they go by."""

import re
from dataclasses import dataclass
from functools import cache

from phonetics.alphabets import ALTERNATES, letters_of
from phonetics.kinds import given_names
from phonetics.numerals import ITU_FIGURES, TEENS, TENS
from phonetics.phrases import vocabulary
from phonetics.rewording import ESSENTIAL

FORM = re.compile(r"[a-z][a-z'-]{0,29}")
_NUMBERING = re.compile(r"^\d+[-.]+(?=[a-z]{2})")  # 01-alfa
_SEPARATORS = re.compile(r"[\s_]+")


@dataclass(frozen=True, kw_only=True, slots=True)
class Group:
    """Words that are recorded together; without the optional ones, other words are said."""

    title: str
    words: tuple[str, ...]
    optional: bool = True


@cache
def groups() -> tuple[Group, ...]:
    """Return every word that can be said, once, the essential ones first.

    Compound numbers such as twenty-six are left out: they are joined from their parts.
    """
    figures = (
        "oh", "tree", "fower", "fife", "niner", "double", "slash", "portable", "maritime", "mobile",
    )  # fmt: skip
    numbers = (*TEENS, *(ten for ten in TENS if ten), "hundred", "thousand")
    others = tuple(word.lower() for words in ALTERNATES.values() for word in words)
    long_figures = tuple(word.lower() for word in ITU_FIGURES.values())
    names = tuple(name.lower() for name in given_names())
    listed = {*ESSENTIAL.values(), *figures, *numbers, *others, *long_figures, *names}
    procedure = tuple(
        sorted(word for word in vocabulary() if word not in listed and parts_of(word) == (word,))
    )
    found: set[str] = set()
    made = []
    for title, words, optional in (
        ("code words, figures and the stroke", tuple(ESSENTIAL.values()), False),
        ("procedure words", procedure, True),
        ("figures and strokes as operators say them", figures, True),
        ("numbers from ten on", numbers, True),
        ("other code words", others, True),
        ("figures of Appendix 14", long_figures, True),
        ("given names", names, True),
    ):
        new = tuple(word for word in words if word not in found)
        found.update(new)
        made.append(Group(title=title, words=new, optional=optional))
    return tuple(made)


def essential() -> tuple[str, ...]:
    """Return the words without which nothing can be copied."""
    return groups()[0].words


def parts_of(say: str) -> tuple[str, ...]:
    """Return the recorded words that make up a word: two for twenty-six, else the word itself."""
    ten, _, unit = say.partition("-")
    return (ten, unit) if unit and ten in TENS else (say,)


def word_of(stem: str, more: tuple[str, ...] = ()) -> str:
    """Return the word that a file name without its ending stands for, "" where it is none.

    Case, blanks and a number in front do not matter; "9", "nine" and "Nine" are one, as are
    "alpha" and "alfa", and "a" is alfa. more: words beside those that can be said.
    """
    plain = _SEPARATORS.sub("-", stem.strip().lower()).strip("-")
    for name in (plain, _NUMBERING.sub("", plain)):
        if name in more or name in vocabulary():
            return name
        found = ESSENTIAL.get(_characters(name), "") or _number(name)
        if found:
            return found
    return ""


def _characters(name: str) -> str:
    try:
        return letters_of([name])
    except ValueError:
        return ""


def _number(name: str) -> str:
    """Return the word of a number of two digits, such as 10 or 26."""
    if not re.fullmatch(r"[1-9]\d", name):
        return ""
    if name[0] == "1":
        return TEENS[int(name[1])]
    unit = "" if name[1] == "0" else "-" + ESSENTIAL[name[1]]
    return TENS[int(name[0])] + unit
