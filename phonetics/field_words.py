"""Turns the written text of each kind of field into spoken words.

Every function takes the text, the over style, a random generator and the name of the field, and
returns the words. Because of the random draws, an operator varies from over to over.
"""

from dataclasses import replace
from random import Random

from phonetics.alphabets import spell
from phonetics.callsigns import parse_callsign
from phonetics.message import Word
from phonetics.numerals import say_number
from phonetics.over_style import OverStyle


def say_spelt(text: str, over_style: OverStyle, rng: Random, field: str) -> tuple[Word, ...]:
    """Spell the text in code words."""
    return spell(text, rng=rng, over_style=over_style, field=field)


def say_digits(text: str, over_style: OverStyle, rng: Random, field: str) -> tuple[Word, ...]:
    """Say the text as a number."""
    return say_number(text, over_style, field=field)


def say_call(text: str, over_style: OverStyle, rng: Random, field: str) -> tuple[Word, ...]:
    """Spell a call, three times out of four with a short pause after its digit."""
    words = list(spell(text, rng=rng, over_style=over_style, field=field))
    call = parse_callsign(text)
    digit = len(call.before) + bool(call.before) + len(call.prefix)
    if rng.random() < 0.75 and digit < len(words) - 1:
        words[digit] = replace(words[digit], pause=",")
    return tuple(words)


def say_serial(text: str, over_style: OverStyle, rng: Random, field: str) -> tuple[Word, ...]:
    """Say a serial number, after "number" if the operator has that habit."""
    words = say_number(text, over_style, field=field)
    return (Word(say="number"), *words) if over_style.number_word else words


def say_watts(text: str, over_style: OverStyle, rng: Random, field: str) -> tuple[Word, ...]:
    """Say a power; 1000 is often "kilowatt" or "one kilowatt"."""
    if text == "1000" and rng.random() < 0.6:
        count = (Word(say="one"),) if rng.random() < 0.5 else ()
        return (*count, Word(say="kilowatt", means=text, field=field))
    words = say_number(text, over_style, field=field)
    return (*words, Word(say="watts")) if over_style.labels else words


def say_word(text: str, over_style: OverStyle, rng: Random, field: str) -> tuple[Word, ...]:
    """Say a word, three times out of ten followed by its spelling."""
    word = Word(say=text.lower(), means=text, field=field)
    if rng.random() < 0.3:
        spelling = spell(text, rng=rng, over_style=over_style)
        return (
            replace(word, pause=","),
            *(Word(say=code_word.say, means=code_word.means) for code_word in spelling),
        )
    return (word,)
