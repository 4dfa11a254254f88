"""The words of a word bank in the order of recording, and the file names that are accepted for
them."""

import re
from dataclasses import dataclass
from functools import cache

from phonetics.alphabets import ALTERNATE_WORDS, characters_from_words
from phonetics.numerals import ITU_FIGURES, TEENS, TENS
from phonetics.phrases import message_vocabulary
from phonetics.rewording import ESSENTIAL_WORDS
from phonetics.word_lists import given_names

WORD_PATTERN = re.compile(r"[a-z][a-z'-]{0,29}")
"""Form of a recorded word: lower-case letters, hyphens and apostrophes."""
_LEADING_NUMBER = re.compile(r"^\d+[-.]+(?=[a-z]{2})")  # 01-alfa
_SEPARATORS = re.compile(r"[\s_]+")
_SPOKEN_FIGURES = (
    "oh", "tree", "fower", "fife", "niner", "double", "slash", "portable", "maritime", "mobile",
)  # fmt: skip


@dataclass(frozen=True, kw_only=True, slots=True)
class WordGroup:
    """Words that are recorded together.

    optional: other words can replace these.
    """

    title: str
    words: tuple[str, ...]
    optional: bool = True


@cache
def word_groups() -> tuple[WordGroup, ...]:
    """Return all words that an over can contain, each once, the essential ones first.

    Compound numbers such as twenty-six are left out because they are joined from their parts.
    """
    numbers = (*TEENS, *(ten for ten in TENS if ten), "hundred", "thousand")
    alternates = tuple(word.lower() for words in ALTERNATE_WORDS.values() for word in words)
    itu_figures = tuple(word.lower() for word in ITU_FIGURES.values())
    names = tuple(name.lower() for name in given_names())
    essential = tuple(ESSENTIAL_WORDS.values())
    listed = {*essential, *_SPOKEN_FIGURES, *numbers, *alternates, *itu_figures, *names}
    procedure = tuple(
        sorted(
            word
            for word in message_vocabulary()
            if word not in listed and word_parts(word) == (word,)
        )
    )
    grouped: set[str] = set()
    groups = []
    for title, words, optional in (
        ("code words, figures and the stroke", essential, False),
        ("procedure words", procedure, True),
        ("other ways to say figures and the stroke", _SPOKEN_FIGURES, True),
        ("numbers from ten up", numbers, True),
        ("other code words", alternates, True),
        ("figures of ITU Appendix 14", itu_figures, True),
        ("given names", names, True),
    ):
        new = tuple(word for word in words if word not in grouped)
        grouped.update(new)
        groups.append(WordGroup(title=title, words=new, optional=optional))
    return tuple(groups)


def essential_words() -> tuple[str, ...]:
    """Return the words that every bank needs: ITU code words, the digits and "stroke"."""
    return word_groups()[0].words


def word_parts(word: str) -> tuple[str, ...]:
    """Return the recorded words that make up a word: two for twenty-six, else the word itself."""
    ten, _, unit = word.partition("-")
    return (ten, unit) if unit and ten in TENS else (word,)


def word_from_file_name(stem: str, extra_words: tuple[str, ...] = ()) -> str:
    """Return the word that a file name without its extension means, "" if it is not a word.

    Case, spaces and a leading number do not matter. Characters and common spellings are accepted:
    "9" and "nine" both mean nine, "alpha" and "a" mean alfa. extra_words: words to accept in
    addition to those that an over can contain.
    """
    plain = _SEPARATORS.sub("-", stem.strip().lower()).strip("-")
    for name in (plain, _LEADING_NUMBER.sub("", plain)):
        if name in extra_words or name in message_vocabulary():
            return name
        word = ESSENTIAL_WORDS.get(_spelt_characters(name), "") or _number_word(name)
        if word:
            return word
    return ""


def _spelt_characters(name: str) -> str:
    """Return the characters that a code word or a character represents, "" if it is neither."""
    try:
        return characters_from_words([name])
    except ValueError:
        return ""


def _number_word(name: str) -> str:
    """Return the word for a number of two digits such as 10 or 26, "" for anything else."""
    if not re.fullmatch(r"[1-9]\d", name):
        return ""
    if name[0] == "1":
        return TEENS[int(name[1])]
    unit = "" if name[1] == "0" else "-" + ESSENTIAL_WORDS[name[1]]
    return TENS[int(name[0])] + unit
