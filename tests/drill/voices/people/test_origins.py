"""Accents agree loosely with where a call is from: often, and never always."""

from collections import Counter
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drill.core.models import Operator
from drill.items.plan import Plan, compose
from drill.voices.people.origins import origin_of, origins, weights
from drill.voices.people.roster import ROSTER, draw_operator
from phonetics.callsigns import Callsign, compose_at, parse
from phonetics.callsigns import compose as compose_call
from phonetics.series import holder_of, holders, places

SOFT = [each for each in ROSTER if not each.hard]
DRAWS = 1200


def share_of(call: Callsign, accents: tuple[str, ...]) -> float:
    rng = Random(call.text)
    drawn = Counter(draw_operator(rng, None, call=call).accent for _ in range(DRAWS))
    return sum(drawn[accent] for accent in accents) / DRAWS


class TestData:
    def test_prefixes_are_of_holders_and_each_holder_comes_once(self) -> None:
        found = [holder_of(prefix) for origin in origins() for prefix in origin.prefixes]
        assert all(holder in holders() for holder in found)
        assert max(Counter(found).values()) == 1

    def test_shares_are_loose(self) -> None:
        assert all(0.3 <= origin.share <= 0.9 for origin in origins())

    def test_somebody_in_the_roster_has_each_accent(self) -> None:
        """And every accent of the roster is spoken somewhere."""
        known = {accent for origin in origins() for accent in origin.accents}
        assert known == {each.accent for each in ROSTER}
        assert all({each.accent for each in SOFT} & set(origin.accents) for origin in origins())

    def test_most_of_the_calls_of_the_world_have_an_origin(self) -> None:
        """By activity of the places, which is common practice, no source."""
        known = {holder_of(prefix) for origin in origins() for prefix in origin.prefixes}
        found = sum(place.weight for place in places() if place.holder in known)
        assert found / sum(place.weight for place in places()) > 0.7


@pytest.mark.parametrize("origin", origins(), ids=lambda origin: origin.name)
def test_the_share_is_met_by_the_draw(origin: object) -> None:
    """1200 draws: four standard errors are at most 0.058."""
    found = next(each for each in origins() if each is origin)
    for prefix in found.prefixes[:2]:
        call = Callsign(prefix=prefix, digit="1", suffix="QTC")
        share = share_of(call, found.accents)
        assert share == pytest.approx(found.share, abs=0.058)
        assert 0 < share < 1


def test_nobody_is_shut_out() -> None:
    """Every operator speaks a call of every origin, if seldom."""
    for origin in origins():
        call = Callsign(prefix=origin.prefixes[0], digit="2", suffix="QRA")
        assert min(weights(SOFT, call)) > 0.001


def test_a_call_of_nobody_is_spoken_by_anybody() -> None:
    for call in (None, parse("E87ABC")):
        assert weights(SOFT, call) == [1 / len(SOFT)] * len(SOFT)


def test_a_visitor_speaks_as_at_home() -> None:
    """Before the stroke is where a station is on a visit; the accent is of the call itself."""
    visitor = parse("E8/DL1QTC")
    found = origin_of(visitor)
    assert found is not None
    assert found.name == "german"


@given(
    people=st.lists(st.sampled_from(ROSTER), min_size=1, max_size=12, unique=True),
    place=st.sampled_from(places()),
    seed=st.integers(0, 999),
)
def test_weights_are_a_share_for_each(people: list[Operator], place: object, seed: int) -> None:
    call = compose_at(Random(seed), next(each for each in places() if each is place))
    found = weights(people, call)
    assert len(found) == len(people)
    assert sum(found) == pytest.approx(1)
    assert min(found) > 0


def test_the_six_who_measure_come_alike() -> None:
    """Without an accent among them, where a call is from tells nothing of who speaks."""
    from drill.session.blocks import VOICES

    six = [each for each in ROSTER if each.name in VOICES]
    rng = Random(5)
    for _ in range(200):
        assert weights(six, compose_call(rng)) == [1 / 6] * 6


def test_items_and_neighbours_are_spoken_by_origin() -> None:
    """In a plan: a Japanese accent is much more often with Japanese calls than with others."""
    plan = Plan(seed=6, mix="asia")
    near, far = Counter[bool](), Counter[bool]()
    for number in range(600):
        item = compose(plan, number)
        japan = parse(item.message.call).holder == "Japan"
        (near if japan else far)[item.operator.accent == "japanese"] += 1
    assert near[True] / near.total() == pytest.approx(0.5, abs=0.12)
    assert far[True] / far.total() < 0.12


def test_the_same_seed_gives_the_same_calls_and_fields_to_other_voices() -> None:
    for part in ("call", "exchange", "over"):
        usual = Plan(seed=9, part=part, exchange="zone-itu")
        other = Plan(seed=9, part=part, exchange="zone-itu", voices=("tin", "granite"))
        for number in range(30):
            a, b = compose(usual, number).message, compose(other, number).message
            assert (a.call, a.fields) == (b.call, b.fields)
