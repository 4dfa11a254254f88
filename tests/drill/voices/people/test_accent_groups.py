"""Accents loosely agree with a call's country: often, and never always."""

from collections import Counter
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drill.core.models import Operator
from drill.items.plan import Plan, compose_item
from drill.session.absent_voices import MEASUREMENT_OPERATORS
from drill.voices.operators import draw_operator
from drill.voices.people.accent_groups import (
    AccentGroup,
    accent_group_of,
    accent_groups,
    operator_weights,
)
from drill.voices.people.roster import ROSTER
from phonetics.callsign_mixes import compose_callsign as compose_call
from phonetics.callsign_mixes import compose_callsign_at
from phonetics.callsigns import Callsign, parse_callsign
from phonetics.series import Place, holder_of, holders, places

EASY = [operator for operator in ROSTER if not operator.hard]
DRAWS = 1200


def drawn_share(call: Callsign, accents: tuple[str, ...]) -> float:
    """Return the share of DRAWS in which an operator with one of the accents speaks the call."""
    rng = Random(call.text)
    counts = Counter(draw_operator(rng, None, call=call).accent for _ in range(DRAWS))
    return sum(counts[accent] for accent in accents) / DRAWS


class TestData:
    def test_every_prefix_has_a_holder_and_every_holder_comes_once(self) -> None:
        listed = [holder_of(prefix) for group in accent_groups() for prefix in group.prefixes]
        assert all(holder in holders() for holder in listed)
        assert max(Counter(listed).values()) == 1

    def test_no_share_is_close_to_0_or_1(self) -> None:
        assert all(0.3 <= group.share <= 0.9 for group in accent_groups())

    def test_the_roster_has_every_accent_of_the_groups_and_no_other(self) -> None:
        accents = {accent for group in accent_groups() for accent in group.accents}
        assert accents == {operator.accent for operator in ROSTER}
        easy_accents = {operator.accent for operator in EASY}
        assert all(easy_accents & set(group.accents) for group in accent_groups())

    def test_most_calls_of_the_world_have_an_accent_group(self) -> None:
        """Weighted by the activity of the places, which is common practice, no source."""
        listed = {holder_of(prefix) for group in accent_groups() for prefix in group.prefixes}
        weight = sum(place.weight for place in places() if place.holder in listed)
        assert weight / sum(place.weight for place in places()) > 0.7


@pytest.mark.parametrize("group", accent_groups(), ids=lambda group: group.name)
def test_the_draw_reaches_the_share_of_the_group(group: AccentGroup) -> None:
    """With 1200 draws, four standard errors are at most 0.058."""
    for prefix in group.prefixes[:2]:
        call = Callsign(prefix=prefix, digit="1", suffix="QTC")
        share = drawn_share(call, group.accents)
        assert share == pytest.approx(group.share, abs=0.058)
        assert 0 < share < 1


def test_every_operator_can_speak_a_call_of_every_group() -> None:
    for group in accent_groups():
        call = Callsign(prefix=group.prefixes[0], digit="2", suffix="QRA")
        assert min(operator_weights(EASY, call)) > 0.001


def test_all_operators_are_equally_likely_without_an_accent_group() -> None:
    for call in (None, parse_callsign("E87ABC")):
        assert operator_weights(EASY, call) == [1 / len(EASY)] * len(EASY)


def test_a_portable_prefix_does_not_change_the_accent_group() -> None:
    group = accent_group_of(parse_callsign("E8/DL1QTC"))
    assert group is not None
    assert group.name == "german"


@given(
    operators=st.lists(st.sampled_from(ROSTER), min_size=1, max_size=12, unique=True),
    place=st.sampled_from(places()),
    seed=st.integers(0, 999),
)
def test_every_weight_is_above_zero_and_they_sum_to_one(
    operators: list[Operator], place: Place, seed: int
) -> None:
    weights = operator_weights(operators, compose_callsign_at(Random(seed), place))
    assert len(weights) == len(operators)
    assert sum(weights) == pytest.approx(1)
    assert min(weights) > 0


def test_the_measurement_operators_are_equally_likely_for_any_call() -> None:
    """None of them has an accent, so a call's country does not reveal its speaker."""
    operators = [operator for operator in ROSTER if operator.name in MEASUREMENT_OPERATORS]
    rng = Random(5)
    for _ in range(200):
        assert operator_weights(operators, compose_call(rng)) == [1 / 6] * 6


def test_the_items_of_a_plan_have_accents_that_agree_with_the_calls() -> None:
    """A Japanese accent is much more frequent with Japanese calls than with others."""
    plan = Plan(seed=6, mix="asia")
    japanese_calls, other_calls = Counter[bool](), Counter[bool]()
    for number in range(600):
        item = compose_item(plan, number)
        is_japanese = parse_callsign(item.message.call).holder == "Japan"
        counts = japanese_calls if is_japanese else other_calls
        counts[item.operator.accent == "japanese"] += 1
    assert japanese_calls[True] / japanese_calls.total() == pytest.approx(0.5, abs=0.12)
    assert other_calls[True] / other_calls.total() < 0.12


def test_the_same_seed_gives_the_same_calls_and_fields_with_other_operators() -> None:
    for part in ("call", "exchange", "over"):
        plan = Plan(seed=9, part=part, exchange="zone-itu")
        other_plan = Plan(seed=9, part=part, exchange="zone-itu", voices=("tin", "granite"))
        for number in range(30):
            a, b = compose_item(plan, number).message, compose_item(other_plan, number).message
            assert (a.call, a.fields) == (b.call, b.fields)
