"""Sounds that a synthetic speaker puts in the place of others in every word: accents at random.

The replacements and their sources are in vowel_habits.toml.
"""

import tomllib
from functools import cache
from pathlib import Path
from random import Random

SPEAKERS_WITH = 0.45
COUNTS = (1, 1, 2, 3, 4)
"""Numbers of habits of a speaker who has any; each entry is equally likely."""

Habits = tuple[tuple[str, str], ...]
"""Pairs of phonemes: the one that is replaced, and its replacement."""


@cache
def known_habits() -> Habits:
    """Return all known replacements."""
    text = Path(__file__).with_suffix(".toml").read_text("utf-8")
    return tuple((usual, own) for usual, own in tomllib.loads(text)["replacements"])


def draw_habits(rng: Random) -> Habits:
    """Return the habits of one speaker, none for most."""
    if rng.random() >= SPEAKERS_WITH:
        return ()
    return tuple(rng.sample(known_habits(), rng.choice(COUNTS)))


def with_habits(phonemes: str, habits: Habits) -> str:
    """Return the phonemes after applying each habit once, in order."""
    for usual, own in habits:
        phonemes = phonemes.replace(usual, own)
    return phonemes
