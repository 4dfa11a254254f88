"""The same said with fewer words: for a speaker who has not every word.

What a word means stays; only how it is said changes. So the truth of a message is untouched.
"""

from collections.abc import Container, Sequence
from dataclasses import replace

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

    A word that carries characters is spelt, character by character, in ESSENTIAL; one that carries
    none is left out, its pause kept. Words of ESSENTIAL stay even where they are not known: there
    is no other way to say them. Never empty where words is not.
    """
    said: list[Word] = []
    undoubled = False
    for word in words:
        if word.say in known and not undoubled:
            said.append(word)
        elif word.means:
            said += _spelt(word)
        elif said and word.pause:
            said[-1] = replace(said[-1], pause=max(word.pause, said[-1].pause, key=_length))
        undoubled = word.say == _DOUBLE and word.say not in known
    return tuple(said) or tuple(words)


def _length(pause: str) -> int:
    return ("", ",", ".").index(pause)


def _spelt(word: Word) -> list[Word]:
    characters = [character for character in word.means if character in ESSENTIAL]
    spelt = [replace(word, say=ESSENTIAL[c], means=c, pause="") for c in characters]
    return [*spelt[:-1], replace(spelt[-1], pause=word.pause)] if spelt else [word]
