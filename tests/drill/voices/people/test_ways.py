"""An operator's ways of saying words: a habit that is audible and stored with the item."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from drill.core.models import Operator
from drill.core.structuring import from_data, to_data
from drill.items.plan import Plan, compose_item
from drill.session.absent_voices import MEASUREMENT_OPERATORS
from drill.voices import speak_uncached
from drill.voices.cache import cache_key
from drill.voices.operators import find_operator
from drill.voices.people.roster import ROSTER
from drill.voices.people.ways import (
    habitual_ways,
    unclear_ways,
    ways_of_operator,
    with_ways_for,
)
from phonetics.message import Word
from phonetics.ways_of_saying import ways_of_saying

PAPA, ALFA, KELP = Word(say="papa"), Word(say="alfa"), Word(say="kelp")
FRONT_STRESS = "papa \u02c8p\u0251p\u0259"
NATURAL = Operator(name="x", engine="natural", voice="heart", pitch_hz=150.0)
FORMANT = Operator(name="y", engine="formant", voice="klatt2", pitch_hz=120.0)


@given(st.text(alphabet="abcdefghij", min_size=1, max_size=8), st.floats(0, 1))
def test_a_habit_is_drawn_from_the_known_ways_and_never_the_usual_one(
    name: str, share: float
) -> None:
    ways = habitual_ways(name, share)
    assert ways == habitual_ways(name, share)
    for word, ipa in ways_of_operator(replace(NATURAL, ways=ways)).items():
        assert ipa in ways_of_saying()[word][1:]
        assert ipa not in unclear_ways().get(word, ())


def test_unclear_ways_are_known_ways() -> None:
    for word, ways in unclear_ways().items():
        assert set(ways) <= set(ways_of_saying()[word][1:])


def test_without_a_share_there_are_no_ways() -> None:
    assert habitual_ways("slate", 0.0) == ()
    with pytest.raises(ValueError, match="share 2"):
        habitual_ways("slate", 2.0)


@pytest.mark.parametrize("operator", [NATURAL, FORMANT], ids=lambda operator: operator.engine)
class TestEngines:
    def test_a_way_changes_the_word_and_no_other(self, operator: Operator) -> None:
        own = replace(operator, ways=(FRONT_STRESS,))
        usual, changed = (speak_uncached([PAPA], one, 1) for one in (operator, own))
        assert usual.samples.shape != changed.samples.shape or np.any(
            usual.samples != changed.samples
        )
        other_usual, other = (speak_uncached([ALFA], one, 1) for one in (operator, own))
        np.testing.assert_array_equal(other_usual.samples, other.samples)

    def test_words_keep_their_times(self, operator: Operator) -> None:
        words = [ALFA, replace(PAPA, pause="."), PAPA, replace(ALFA, pause=","), PAPA]
        clip = speak_uncached(words, replace(operator, ways=(FRONT_STRESS,)), 1)
        assert [time.say for time in clip.words] == [word.say for word in words]
        assert all(0.1 < time.end_s - time.start_s < 1.5 for time in clip.words)


def test_a_formant_operator_with_an_accent_keeps_its_own_pronunciation() -> None:
    """Ways are written in phonemes of the American voice, so they do not suit other accents."""
    british = replace(FORMANT, accent="british")
    own = replace(british, ways=(FRONT_STRESS,))
    np.testing.assert_array_equal(
        speak_uncached([PAPA], own, 1).samples, speak_uncached([PAPA], british, 1).samples
    )


def test_only_the_ways_of_spoken_words_decide_the_key() -> None:
    def key(operator: Operator, word: Word) -> str:
        return cache_key([word], operator, 1, engine_version="1")

    own = replace(NATURAL, ways=(FRONT_STRESS,))
    assert key(own, ALFA) == key(NATURAL, ALFA)
    assert key(own, PAPA) != key(NATURAL, PAPA)
    assert with_ways_for(own, [ALFA, KELP]) == NATURAL
    assert with_ways_for(own, [ALFA, PAPA]) == own


def test_the_measurement_operators_have_no_ways() -> None:
    for name in MEASUREMENT_OPERATORS:
        assert find_operator(name).ways == ()


def test_many_operators_have_ways_and_they_differ() -> None:
    natural = [operator for operator in ROSTER if operator.engine == "natural"]
    with_ways = [operator.ways for operator in natural if operator.ways]
    assert len(with_ways) >= 0.8 * (len(natural) - len(MEASUREMENT_OPERATORS))
    assert len(set(with_ways)) == len(with_ways)
    papas = {ways_of_operator(operator).get("papa") for operator in natural}
    assert len(papas) >= 4


def test_an_item_holds_the_ways_of_its_words_alone() -> None:
    plan = Plan(seed=4, part="over", exchange="serial")
    items = [compose_item(plan, number) for number in range(60)]
    assert any(item.operator.ways for item in items)
    for item in items:
        spoken = {word.say for word in item.message.words}
        assert ways_of_operator(item.operator).keys() <= spoken
        assert from_data(type(item), to_data(item)) == item


def test_an_operator_without_ways_is_stored_as_before() -> None:
    """A record of version 0.3.0 has no such entry."""
    assert "ways" not in to_data(NATURAL)
    own = replace(NATURAL, ways=(FRONT_STRESS,))
    assert to_data(own)["ways"] == [FRONT_STRESS]
    assert from_data(Operator, to_data(own)) == own
