"""Speaking habits: how an operator words what it says, and the over style that follows from them.

An operator always uses the same code words and figures. Occasional habits, such as saying the call
twice, are drawn anew for each over. `habits.toml` holds profiles of habits; a
row of the roster names the profile of its operator.
"""

import tomllib
from dataclasses import dataclass, fields, replace
from functools import cache
from importlib.resources import files
from random import Random
from typing import Any

from drill.core.models import Operator
from drill.core.structuring import from_data
from drill.voices.people.roster import find_roster_entry
from phonetics.alphabets import ALTERNATE_WORDS
from phonetics.over_style import OverStyle, draw_over_style


@dataclass(frozen=True, kw_only=True, slots=True)
class SpeakingHabits:
    """A profile of speaking habits. Fields have the same meaning as in OverStyle.

    alternates: share of letters said with another word than the ITU's, 0 to 1. words: the set in
    the data file from which those other words come, "" for any word. chatty, hesitates: shares, 0
    to
    1. The last seven fields are the probabilities, 0 to 1, that an over shows the habit.
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


OCCASIONAL_HABITS = tuple(field.name for field in fields(SpeakingHabits))[-7:]
"""The habits that are drawn anew for each over."""


@cache
def habit_profiles() -> dict[str, SpeakingHabits]:
    """Return all profiles of the data file by name."""
    return {
        name: from_data(SpeakingHabits, row, name)
        for name, row in _habits_data()["profiles"].items()
    }


@cache
def alternate_word_sets() -> dict[str, frozenset[str]]:
    """Return the sets of alternate code words by name; the set "" contains all of them."""
    all_words = frozenset(word.lower() for words in ALTERNATE_WORDS.values() for word in words)
    named_sets = {name: frozenset(words) for name, words in _habits_data()["words"].items()}
    return {"": all_words} | named_sets


@cache
def _habits_data() -> dict[str, dict[str, Any]]:
    return tomllib.loads((files("drill.voices.people") / "habits.toml").read_text("utf-8"))


def habits_of_operator(operator: Operator) -> SpeakingHabits | None:
    """Return the operator's habits, None if it is not in the roster or its row names no profile."""
    entry = find_roster_entry(operator.name)
    if entry is None or not entry.habit_profile:
        return None
    return habit_profiles()[entry.habit_profile]


def over_style_for(
    operator: Operator, rng: Random, *, alternates: float | None = None
) -> OverStyle:
    """Return the style of one over by the operator; rng draws the occasional habits.

    alternates: share of letters not said with the ITU's word, 0 to 1; None for the operator's own
    share. An operator without a profile, such as a voice of the operating system, gets a style that
    is drawn from its name and is the same for every over.

    Raises: ValueError if alternates is not from 0 to 1.
    """
    habits = habits_of_operator(operator)
    if habits is None:
        over_style = draw_over_style(Random(f"habits {operator.name}"), alternates=alternates)
        return replace(over_style, words=favourite_words(operator.name))
    shown = {name: rng.random() < getattr(habits, name) for name in OCCASIONAL_HABITS}
    return OverStyle(
        alternates=habits.alternates if alternates is None else alternates,
        words=favourite_words(operator.name, habits.words),
        zero=habits.zero,
        figures=habits.figures,
        stroke=habits.stroke,
        chatty=habits.chatty,
        hesitates=habits.hesitates,
        **shown,
    )


@cache
def favourite_words(operator_name: str, word_set: str = "") -> tuple[str, ...]:
    """Return the alternate code word that the operator always uses for each letter.

    word_set: a key of alternate_word_sets(). A letter without a word in the set is left out.
    Raises: KeyError for an unknown set.
    """
    rng = Random(f"words {operator_name}")
    allowed = alternate_word_sets()[word_set]
    favourites = []
    for alternates in ALTERNATE_WORDS.values():
        candidates = [word.lower() for word in alternates if word.lower() in allowed]
        if candidates:
            favourites.append(rng.choice(candidates))
    return tuple(favourites)
