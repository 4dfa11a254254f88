"""Ways in which people say one word: stress, vowels and dropped sounds, as data.

The data file gives each word's ways in the International Phonetic Alphabet, the usual way first.
An operator always says a word in the same way, as people do: `draw_ways` draws that way once.
Sources: see data/ways_of_saying.toml.
"""

import tomllib
from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from random import Random
from types import MappingProxyType

Ways = Mapping[str, str]
"""Pronunciation in IPA of each word that an operator says in a particular way."""

SHARES = (0.0, 0.0, 0.5, 1.0, 1.0, 1.0)
"""Shares of words that an operator says in a particular way; each share is equally likely."""


@cache
def ways_of_saying() -> Mapping[str, tuple[str, ...]]:
    """Return the ways of each word in IPA, the usual one first; words are lower case."""
    text = (files("phonetics") / "data" / "ways_of_saying.toml").read_text("utf-8")
    return MappingProxyType(
        {word: tuple(ways) for word, ways in tomllib.loads(text)["words"].items()}
    )


def draw_ways(rng: Random, *, share: float | None = None) -> Ways:
    """Return the words that one operator says in a particular way.

    share: of the words for which a way is drawn, 0 to 1; None draws it from SHARES. The other words
    are left out; the voice's default pronunciation applies. The usual way is drawn twice as often
    as any other.

    Raises: ValueError if share is outside 0 to 1.
    """
    if share is None:
        share = rng.choice(SHARES)
    if not 0.0 <= share <= 1.0:
        raise ValueError(f"share {share} of words is outside 0 to 1")
    return MappingProxyType(
        {
            word: rng.choice((ways[0], *ways))
            for word, ways in ways_of_saying().items()
            if rng.random() < share
        }
    )
