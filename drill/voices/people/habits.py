"""How an operator puts things: habits from the data become the manner of one over.

The same operator keeps to the same words and figures. What people do now and then, such as to give
the call twice, is drawn for each over. Data: habits.toml, by the name in the operator's row.
"""

import tomllib
from dataclasses import dataclass, fields, replace
from functools import cache
from importlib.resources import files
from random import Random
from typing import Any

from drill.core.models import Operator
from drill.voices.people.roster import person
from phonetics.alphabets import ALTERNATES
from phonetics.manners import Manner, draw_manner


@dataclass(frozen=True, kw_only=True, slots=True)
class Habits:
    """A profile of the data; shares from 0 to 1, the others as in phonetics.manners.Manner.

    words: a set of the data that other words than the ITU's are taken from, "" for any. The last
    seven are how often the habit shows.
    """

    alternates: float = 0.0
    words: str = ""
    zero: str = "zero"
    figures: str = "plain"
    stroke: str = "stroke"
    chatty: float = 0.0
    hesitates: float = 0.0
    pairs: float = 0.0
    doubles: float = 0.0
    drop_zeros: float = 0.0
    number_word: float = 0.0
    labels: float = 0.0
    run_on: float = 0.0
    repeat_call: float = 0.0


NOW_AND_THEN = tuple(field.name for field in fields(Habits))[-7:]


@cache
def profiles() -> dict[str, Habits]:
    """Return every profile by its name."""
    return {name: Habits(**row) for name, row in _data()["profiles"].items()}


@cache
def word_sets() -> dict[str, frozenset[str]]:
    """Return the sets of other words, "" for all of them."""
    every = frozenset(word.lower() for words in ALTERNATES.values() for word in words)
    return {"": every} | {name: frozenset(words) for name, words in _data()["words"].items()}


@cache
def _data() -> dict[str, dict[str, Any]]:
    return tomllib.loads((files("drill.voices") / "data" / "habits.toml").read_text("utf-8"))


def habits_of(operator: Operator) -> Habits | None:
    """Return the operator's habits, None for one whose row names none, or who has no row."""
    found = person(operator.name)
    return profiles()[found.habits] if found is not None and found.habits else None


def manner_of(operator: Operator, rng: Random, *, alternates: float | None = None) -> Manner:
    """Return how the operator puts one over.

    alternates: share of letters not said in the ITU's word, 0 to 1; None leaves it to the operator.
    An operator without habits in the data, such as a voice of the system, has always those that its
    name draws. Raises: ValueError where alternates is not a share.
    """
    habits = habits_of(operator)
    if habits is None:
        manner = draw_manner(Random(f"habits {operator.name}"), alternates=alternates)
        return replace(manner, words=favourites(operator.name))
    shown = {name: rng.random() < getattr(habits, name) for name in NOW_AND_THEN}
    return Manner(
        alternates=habits.alternates if alternates is None else alternates,
        words=favourites(operator.name, habits.words),
        zero=habits.zero,
        figures=habits.figures,
        stroke=habits.stroke,
        chatty=habits.chatty,
        hesitates=habits.hesitates,
        **shown,
    )


@cache
def favourites(name: str, words: str = "") -> tuple[str, ...]:
    """Return the other word of each letter that the person of that name keeps to, of a set."""
    rng = Random(f"words {name}")
    known = word_sets()[words]
    chosen = []
    for alternates in ALTERNATES.values():
        among = [word.lower() for word in alternates if word.lower() in known]
        if among:
            chosen.append(rng.choice(among))
    return tuple(chosen)
