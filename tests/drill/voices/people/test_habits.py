"""An operator keeps its words and figures; its occasional habits are drawn for each over."""

from dataclasses import fields
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drill.core.models import Operator
from drill.items.plan import Plan, compose_item
from drill.voices.operators import find_operator
from drill.voices.people.habits import (
    OCCASIONAL_HABITS,
    SpeakingHabits,
    alternate_word_sets,
    favourite_words,
    habit_profiles,
    habits_of_operator,
    over_style_for,
)
from drill.voices.people.roster import BUNDLED_GROUP, ROSTER, roster_entries
from phonetics.alphabets import ALTERNATE_WORDS, characters_from_words
from phonetics.over_style import OverStyle

SYSTEM_OPERATOR = Operator(name="system-nobody", engine="system", voice="x", pitch_hz=120.0)
"""Name of an operator that is not in the roster."""
operators = st.sampled_from((*ROSTER, SYSTEM_OPERATOR))
seeds = st.integers(0, 2**32)


class TestData:
    def test_every_row_names_a_profile_and_every_profile_is_used(self) -> None:
        used = {entry.habit_profile for entry in roster_entries(BUNDLED_GROUP)}
        assert used == set(habit_profiles())

    def test_the_named_sets_hold_alternates_and_do_not_overlap(self) -> None:
        all_words = alternate_word_sets()[""]
        for name, words in alternate_word_sets().items():
            assert words <= all_words, name
        assert not alternate_word_sets()["places"] & alternate_word_sets()["old"]
        assert {habits.words for habits in habit_profiles().values()} <= set(alternate_word_sets())

    @pytest.mark.parametrize("name", habit_profiles())
    def test_every_value_of_a_profile_is_allowed(self, name: str) -> None:
        habits = habit_profiles()[name]
        assert all(0 <= getattr(habits, habit) <= 1 for habit in OCCASIONAL_HABITS)
        OverStyle(
            alternates=habits.alternates,
            zero=habits.zero,
            figures=habits.figures,
            stroke=habits.stroke,
            chatty=habits.chatty,
            hesitates=habits.hesitates,
        )

    def test_a_profile_has_every_field_of_an_over_style(self) -> None:
        assert {f.name for f in fields(SpeakingHabits)} == {f.name for f in fields(OverStyle)}

    def test_the_roster_is_as_mixed_as_operators_on_the_air(self) -> None:
        """Half say only the ITU's words, a fifth ICAO figures: common practice, no source."""
        profiles = [
            habit_profiles()[entry.habit_profile] for entry in roster_entries(BUNDLED_GROUP)
        ]
        count = len(profiles)
        assert 0.4 < sum(habits.alternates == 0 for habits in profiles) / count < 0.65
        assert 0.1 < sum(habits.figures == "icao" for habits in profiles) / count < 0.3
        assert 0.25 < sum(habits.zero == "oh" for habits in profiles) / count < 0.5


@given(operator=operators, seed_a=seeds, seed_b=seeds)
def test_the_lasting_habits_are_the_same_in_every_over(
    operator: Operator, seed_a: int, seed_b: int
) -> None:
    a, b = over_style_for(operator, Random(seed_a)), over_style_for(operator, Random(seed_b))
    lasting = {f.name for f in fields(OverStyle)} - set(OCCASIONAL_HABITS)
    assert all(getattr(a, name) == getattr(b, name) for name in lasting)
    assert over_style_for(operator, Random(seed_a)) == a


@given(operator=operators, share=st.floats(0, 1))
def test_a_given_share_of_alternates_overrides_the_habit(operator: Operator, share: float) -> None:
    assert over_style_for(operator, Random(1), alternates=share).alternates == share


def test_occasional_habits_are_as_frequent_as_the_profile_says() -> None:
    """With 2000 overs, 0.04 is four standard errors of a share of 0.3."""
    operator = find_operator("orchard")
    over_styles = [over_style_for(operator, Random(seed)) for seed in range(2000)]
    habits = habits_of_operator(operator)
    assert habits is not None
    for name in OCCASIONAL_HABITS:
        share = sum(getattr(over_style, name) for over_style in over_styles) / len(over_styles)
        assert share == pytest.approx(getattr(habits, name), abs=0.04), name


def test_operators_with_the_same_profile_have_different_favourite_words() -> None:
    favourites = {
        favourite_words(name, "places") for name in ("cedar", "orchard", "pebble", "saddle")
    }
    assert len(favourites) == 4
    for words in favourites:
        letters = characters_from_words(words)
        assert len(set(letters)) == len(letters)


@given(name=st.text(max_size=12), word_set=st.sampled_from(sorted(alternate_word_sets())))
def test_there_is_at_most_one_favourite_word_for_a_letter(name: str, word_set: str) -> None:
    words = favourite_words(name, word_set)
    assert set(words) <= alternate_word_sets()[word_set]
    assert len(set(characters_from_words(words))) == len(words)
    if not word_set:
        assert len(words) == len(ALTERNATE_WORDS)


def test_an_operator_outside_the_roster_has_one_over_style_drawn_from_its_name() -> None:
    assert habits_of_operator(SYSTEM_OPERATOR) is None
    assert over_style_for(SYSTEM_OPERATOR, Random(1)) == over_style_for(SYSTEM_OPERATOR, Random(2))
    names = [f"bank-{number}" for number in range(30)]
    banks = [Operator(name=name, engine="bank", voice="x", pitch_hz=120.0) for name in names]
    assert len({over_style_for(operator, Random(1)) for operator in banks}) == 30


def test_the_items_of_a_plan_are_worded_by_the_operators_habits() -> None:
    def words_said_by(name: str) -> set[str]:
        plan = Plan(seed=2, voices=(name,), part="over")
        return {
            word.say for number in range(80) for word in compose_item(plan, number).message.words
        }

    assert {"able", "baker", "zebra"} <= words_said_by("granite")
    assert not {"america", "boston"} & words_said_by("granite")
    assert {"niner", "fife"} <= words_said_by("harbour")
    assert not {"nine", "five"} & words_said_by("harbour")
    assert "er" in words_said_by("canyon")
    assert "er" not in words_said_by("birch")
    assert "zero" not in words_said_by("anvil")
