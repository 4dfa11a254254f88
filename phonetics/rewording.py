"""The same said with fewer words: for a speaker who has not every word.

What a word means stays; only how it is said changes. So the truth of a message is untouched.
"""

from collections.abc import Container, Sequence
from dataclasses import replace
from itertools import groupby

from phonetics.alphabets import ITU
from phonetics.message import Word
from phonetics.numerals import DIGITS

ESSENTIAL: dict[str, str] = {
    **{letter: word.lower() for letter, word in ITU.items()},
    **{str(value): word for value, word in enumerate(DIGITS)},
    "/": "stroke",
}
"""The words that say everything that can be copied: Appendix 14 letters, digits, the stroke."""

_DOUBLE = "double"  # its meaning is in the word after it


def reword(words: Sequence[Word], known: Container[str]) -> tuple[Word, ...]:
    """Return the words with those that are not known said otherwise.

    A word that carries characters is spelt, character by character, in ESSENTIAL. Procedure words
    carry none: where one of several in a row is not known, all of them are left out, and their
    pause is kept. Words of ESSENTIAL stay even where they are not known: there is no other way to
    say them. Never empty where words is not.
    """
    said: list[Word] = []
    for carries, row in groupby(words, key=lambda word: bool(word.means) or word.say == _DOUBLE):
        several = list(row)
        if carries:
            said = _without_count(said, several[0], known) + _carried(several, known)
        elif all(word.say in known for word in several):
            said += several
        elif said:
            pause = max((said[-1].pause, *(word.pause for word in several)), key=_length)
            said[-1] = replace(said[-1], pause=pause)
    return tuple(said) or tuple(words)


def _carried(words: Sequence[Word], known: Container[str]) -> list[Word]:
    said: list[Word] = []
    before: tuple[Word, ...] = ()
    for word in words:
        if word.say == _DOUBLE:
            before = (word,)
            continue
        whole = (*before, word)
        said += whole if all(each.say in known for each in whole) else _spelt(word)
        before = ()
    return said


def _without_count(said: list[Word], after: Word, known: Container[str]) -> list[Word]:
    """Return what was said without the one of "one kilowatt" where that becomes 1 0 0 0."""
    counts = bool(said) and not said[-1].means and said[-1].say in DIGITS
    return said[:-1] if counts and after.say not in known else said


def _length(pause: str) -> int:
    return ("", ",", ".").index(pause)


def _spelt(word: Word) -> list[Word]:
    characters = [character for character in word.means if character in ESSENTIAL]
    spelt = [replace(word, say=ESSENTIAL[c], means=c, pause="") for c in characters]
    return [*spelt[:-1], replace(spelt[-1], pause=word.pause)] if spelt else [word]
