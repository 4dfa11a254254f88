"""Rewording: the same message in other words, for a voice that lacks some, such as a word bank.

Only the spoken words change; their meaning stays the same, and so does the correct answer.
"""

from collections.abc import Container, Sequence
from dataclasses import replace
from itertools import groupby

from phonetics.alphabets import ITU_CODE_WORDS
from phonetics.message import Word
from phonetics.numerals import DIGIT_WORDS

ESSENTIAL_WORDS: dict[str, str] = {
    **{letter: word.lower() for letter, word in ITU_CODE_WORDS.items()},
    **{str(value): word for value, word in enumerate(DIGIT_WORDS)},
    "/": "stroke",
}
"""The word for each character; with these words every call and number can be spoken."""

_DOUBLE = "double"  # carries no characters; the next word carries both digits


def reword(words: Sequence[Word], known: Container[str]) -> tuple[Word, ...]:
    """Return the words with every word that is not in `known` replaced.

    A word that carries characters is spelt in ESSENTIAL_WORDS, character by character. Procedure
    words carry none: if one in a run of them is unknown, the whole run is left out and its longest
    pause kept. ESSENTIAL_WORDS always stay, because no other words can replace them. The result is
    never empty unless `words` is.
    """
    result: list[Word] = []
    for carries, run in groupby(words, key=lambda word: bool(word.means) or word.say == _DOUBLE):
        group = list(run)
        if carries:
            result = _without_count(result, group[0], known) + _reword_carrying(group, known)
        elif all(word.say in known for word in group):
            result += group
        elif result:
            pause = max((result[-1].pause, *(word.pause for word in group)), key=_pause_length)
            result[-1] = replace(result[-1], pause=pause)
    return tuple(result) or tuple(words)


def _reword_carrying(words: Sequence[Word], known: Container[str]) -> list[Word]:
    """Return words that carry characters, the unknown ones spelt; "double" stays with its word."""
    result: list[Word] = []
    double: tuple[Word, ...] = ()
    for word in words:
        if word.say == _DOUBLE:
            double = (word,)
            continue
        phrase = (*double, word)
        result += phrase if all(part.say in known for part in phrase) else _spell_out(word)
        double = ()
    return result


def _without_count(words: list[Word], following: Word, known: Container[str]) -> list[Word]:
    """Return the words without the "one" of "one kilowatt" if "kilowatt" will be spelt 1 0 0 0."""
    ends_in_count = bool(words) and not words[-1].means and words[-1].say in DIGIT_WORDS
    return words[:-1] if ends_in_count and following.say not in known else words


def _pause_length(pause: str) -> int:
    return ("", ",", ".").index(pause)


def _spell_out(word: Word) -> list[Word]:
    """Return one essential word per character that the word carries; the last keeps the pause."""
    characters = [character for character in word.means if character in ESSENTIAL_WORDS]
    spelt = [replace(word, say=ESSENTIAL_WORDS[c], means=c, pause="") for c in characters]
    return [*spelt[:-1], replace(spelt[-1], pause=word.pause)] if spelt else [word]
