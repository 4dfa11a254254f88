"""The same operator always puts things the same way; what people vary is drawn for each over."""

from dataclasses import fields
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drill.core.models import Operator
from drill.items.plan import Plan, compose
from drill.voices.people import habits
from drill.voices.people.habits import Habits, favourites, habits_of, manner_of, profiles, word_sets
from drill.voices.people.roster import BUNDLED, ROSTER, operator, people
from phonetics.alphabets import ALTERNATES, letters_of
from phonetics.manners import Manner

NOBODY = Operator(name="system-nobody", engine="system", voice="x", pitch_hz=120.0)
EVERYBODY = st.sampled_from((*ROSTER, NOBODY))
seeds = st.integers(0, 2**32)


class TestData:
    def test_every_row_names_a_profile_and_every_profile_is_used(self) -> None:
        assert {person.habits for person in people(BUNDLED)} == set(profiles())

    def test_words_are_alternates_and_one_set_leaves_the_other(self) -> None:
        every = word_sets()[""]
        for name, words in word_sets().items():
            assert words <= every, name
        assert not word_sets()["places"] & word_sets()["old"]
        assert {each.words for each in profiles().values()} <= set(word_sets())

    @pytest.mark.parametrize("name", profiles())
    def test_shares_are_shares_and_habits_are_known(self, name: str) -> None:
        profile = profiles()[name]
        assert all(0 <= getattr(profile, habit) <= 1 for habit in habits.NOW_AND_THEN)
        Manner(
            alternates=profile.alternates,
            zero=profile.zero,
            figures=profile.figures,
            stroke=profile.stroke,
            chatty=profile.chatty,
            hesitates=profile.hesitates,
        )

    def test_every_habit_of_a_manner_comes_from_the_data(self) -> None:
        assert {f.name for f in fields(Habits)} == {f.name for f in fields(Manner)}

    def test_the_roster_is_as_mixed_as_operators_are(self) -> None:
        """Half say the ITU's words alone, a fifth ICAO figures: common practice, no source."""
        found = [profiles()[person.habits] for person in people(BUNDLED)]
        assert 0.4 < sum(each.alternates == 0 for each in found) / len(found) < 0.65
        assert 0.1 < sum(each.figures == "icao" for each in found) / len(found) < 0.3
        assert 0.25 < sum(each.zero == "oh" for each in found) / len(found) < 0.5


@given(each=EVERYBODY, one=seeds, other=seeds)
def test_what_a_person_keeps_to_stays(each: Operator, one: int, other: int) -> None:
    a, b = manner_of(each, Random(one)), manner_of(each, Random(other))
    steady = {f.name for f in fields(Manner)} - set(habits.NOW_AND_THEN)
    assert all(getattr(a, name) == getattr(b, name) for name in steady)
    assert manner_of(each, Random(one)) == a


@given(each=EVERYBODY, share=st.floats(0, 1))
def test_a_plans_share_of_alternates_goes_before(each: Operator, share: float) -> None:
    assert manner_of(each, Random(1), alternates=share).alternates == share


def test_what_is_now_and_then_is_as_often_as_the_data_says() -> None:
    """Of 2000 overs a share of 0.3 comes within 0.04: four standard errors."""
    someone = operator("orchard")
    drawn = [manner_of(someone, Random(seed)) for seed in range(2000)]
    wanted = habits_of(someone)
    assert wanted is not None
    for name in habits.NOW_AND_THEN:
        share = sum(getattr(manner, name) for manner in drawn) / len(drawn)
        assert share == pytest.approx(getattr(wanted, name), abs=0.04), name


def test_people_of_the_same_habits_have_words_of_their_own() -> None:
    some = {favourites(name, "places") for name in ("cedar", "orchard", "pebble", "saddle")}
    assert len(some) == 4
    for words in some:
        letters = letters_of(words)
        assert len(set(letters)) == len(letters)


@given(name=st.text(max_size=12), words=st.sampled_from(sorted(word_sets())))
def test_favourites_are_one_a_letter(name: str, words: str) -> None:
    chosen = favourites(name, words)
    assert set(chosen) <= word_sets()[words]
    assert len(set(letters_of(chosen))) == len(chosen)
    if not words:
        assert len(chosen) == len(ALTERNATES)


def test_an_operator_without_a_row_has_always_the_same_habits() -> None:
    assert habits_of(NOBODY) is None
    assert manner_of(NOBODY, Random(1)) == manner_of(NOBODY, Random(2))
    names = [f"bank-{number}" for number in range(30)]
    some = [Operator(name=name, engine="bank", voice="x", pitch_hz=120.0) for name in names]
    assert len({manner_of(each, Random(1)) for each in some}) == 30


def test_habits_are_heard_in_the_plan() -> None:
    def said(name: str) -> set[str]:
        plan = Plan(seed=2, voices=(name,), part="over")
        return {word.say for number in range(80) for word in compose(plan, number).message.words}

    assert {"able", "baker", "zebra"} <= said("granite")
    assert not {"america", "boston"} & said("granite")
    assert {"niner", "fife"} <= said("harbour")
    assert not {"nine", "five"} & said("harbour")
    assert "er" in said("canyon")
    assert "er" not in said("birch")
    assert "zero" not in said("anvil")
