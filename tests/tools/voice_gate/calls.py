"""The calls that operators speak in the voice gate.

They use call sign series that are not allocated to any country (ITU RR Appendix 42), so they belong
to no station.
"""

from collections.abc import Iterator, Sequence
from random import Random

from phonetics.alphabets import ITU_CODE_WORDS
from phonetics.message import Word
from phonetics.numerals import DIGIT_WORDS

SERIES = ("E8", "H5", "S4", "T9", "Z4")
WORD_OF = {letter: word.lower() for letter, word in ITU_CODE_WORDS.items()} | {
    str(value): word for value, word in enumerate(DIGIT_WORDS)
}
"""Code word of each letter and digit."""
TUNING_SEED = "voice gate: tuning"
"""Seed of the calls for tuning operators until they pass."""
TABLE_SEED = "voice gate: table"
"""Seed of the calls for the published table; nothing was ever tuned on them."""
CALLS = 10
"""Number of calls of each operator; every letter and digit occurs in them."""


def compose_gate_calls(count: int, rng: Random) -> list[str]:
    """Return calls of six characters such as E87ABC; 20 calls have every letter and digit twice."""
    letters, digits = _evenly(tuple(ITU_CODE_WORDS), rng), _evenly("0123456789", rng)
    series = _evenly(SERIES, rng)
    return [
        next(series) + next(digits) + "".join(next(letters) for _ in range(3)) for _ in range(count)
    ]


def _evenly(choices: Sequence[str], rng: Random) -> Iterator[str]:
    """Yield the choices in random order without end, each equally often."""
    while True:
        yield from rng.sample(choices, len(choices))


def call_words(call: str) -> tuple[Word, ...]:
    """Return the words of a call, with a short pause after its second digit, as operators do."""
    return tuple(
        Word(say=WORD_OF[character], means=character, field="call", pause="," if place == 2 else "")
        for place, character in enumerate(call)
    )
