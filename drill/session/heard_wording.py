"""Sentences about how the words of an item arrived, the same in the terminal and on the page."""

from collections.abc import Collection, Sequence

from drill.items.heard_words import HeardWord
from phonetics.alphabets import ITU_CODE_WORDS
from phonetics.numerals import DIGIT_WORDS

FADED_DB = -3.0
"""A word counts as faded if fading lowered its level by at least this much."""
COVERED_DB = 3.0
"""A word counts as covered if noise and other stations were at least this much above the mean noise
during it."""


def describe_words(words: Sequence[HeardWord], missed: Collection[int] = ()) -> tuple[str, ...]:
    """Return a line for each word, numbered from 1. missed: numbers from 0 of missed words."""
    return tuple(
        f"{number + 1}. {_name(word)}{', missed' if number in missed else ''}: "
        f"{', '.join(_reasons(word))}.{_explanation(words, number)}"
        for number, word in enumerate(words)
    )


def _name(word: HeardWord) -> str:
    return f"{word.say}, {word.means}" if word.means else word.say


def _reasons(word: HeardWord) -> list[str]:
    """Return clauses about the level of a word and the reasons why it was hard."""
    reasons = ["without noise" if word.snr_db is None else level_phrase(word.snr_db)]
    if word.faded_db <= FADED_DB:
        reasons.append(f"faded by {-word.faded_db:.0f} dB")
    if word.others_db is not None and word.others_db >= COVERED_DB:
        reasons.append(f"covered by other sounds {word.others_db:.0f} dB above the noise")
    return reasons


def level_phrase(snr_db: float) -> str:
    """Return a level relative to the noise as a phrase."""
    rounded = round(snr_db)
    if not rounded:
        return "as strong as the noise"
    return f"{abs(rounded)} dB {'above' if rounded > 0 else 'below'} the noise"


def _explanation(words: Sequence[HeardWord], number: int) -> str:
    """Return a sentence about a word that is not the usual one for its characters, else ""."""
    word = words[number]
    usual = _usual_word(word.means)
    if not word.means or word.say == usual.lower():
        return ""
    if word.means.isalpha():
        return f" '{word.say}' is {word.means}; the ITU's word is {usual}." if usual else ""
    said = f"double {word.say}" if number and words[number - 1].say == "double" else word.say
    return f" '{said}' is {word.means}."


def _usual_word(means: str) -> str:
    """Return the usual word for one character, "" for several characters or the stroke."""
    if len(means) == 1 and means.isdigit():
        return DIGIT_WORDS[int(means)]
    return ITU_CODE_WORDS.get(means, "")
