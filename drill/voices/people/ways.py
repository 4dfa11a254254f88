"""Ways in which an operator says words, in the form of `Operator.ways`.

A way is a habit: it is drawn once for each operator and then stays the same. The row of an operator
in the roster holds only the share of words for which a way is drawn.
"""

import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import replace
from functools import cache
from importlib.resources import files
from random import Random

from drill.core.models import Operator
from phonetics.message import Word
from phonetics.ways_of_saying import draw_ways, ways_of_saying


def habitual_ways(operator_name: str, share: float) -> tuple[str, ...]:
    """Return an operator's ways of saying words, in alphabetical order of the words.

    share: share of words for which a way is drawn, 0 to 1. Words for which the usual way is drawn,
    or one that is hard to understand, are left out. Raises: ValueError if share is out of range.
    """
    drawn = draw_ways(Random(f"ways {operator_name}"), share=share)
    return tuple(
        f"{word} {way}"
        for word, way in sorted(drawn.items())
        if way != ways_of_saying()[word][0] and way not in unclear_ways().get(word, ())
    )


@cache
def unclear_ways() -> Mapping[str, tuple[str, ...]]:
    """Return the ways, in IPA, that no operator is given because they are hard to understand."""
    text = (files("drill.voices.people") / "unclear_ways.toml").read_text("utf-8")
    return {word: tuple(ways) for word, ways in tomllib.loads(text).items()}


def ways_of_operator(operator: Operator) -> Mapping[str, str]:
    """Return the IPA of each word that the operator says in a particular way."""
    return {word: ipa for word, _, ipa in (way.partition(" ") for way in operator.ways)}


def with_ways_for(operator: Operator, words: Iterable[Word]) -> Operator:
    """Return the operator with the ways of these words only; the others do not change the sound."""
    if not operator.ways:
        return operator
    spoken = {word.say for word in words}
    ways = ways_of_operator(operator)
    return replace(
        operator, ways=tuple(f"{word} {ipa}" for word, ipa in ways.items() if word in spoken)
    )
