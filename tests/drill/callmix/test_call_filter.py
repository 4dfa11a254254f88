"""The filter contains every call of the log and reveals none of them."""

from random import Random

from hypothesis import given
from hypothesis import strategies as st

from drill.callmix.call_filter import MAX_FILL, build_filter, fill_of, may_contain
from drill.callmix.mix import LearnedMix
from phonetics.callsign_mixes import compose_callsign


def test_about_half_of_all_other_calls_match_too(mix: LearnedMix) -> None:
    rng = Random(6)
    fits = sum(mix.is_taken(compose_callsign(rng, mix="asia").base) for _ in range(2000)) / 2000
    assert 0.4 < fits < MAX_FILL + 0.05


@given(st.sets(st.text("ABCDEFG123", min_size=3, max_size=6), min_size=50, max_size=400))
def test_the_filter_contains_every_call_and_is_half_to_four_fifths_full(calls: set[str]) -> None:
    salt, bits = build_filter(calls)
    assert all(may_contain(bits, salt, call) for call in calls)
    assert 0.35 < fill_of(bits) <= MAX_FILL
