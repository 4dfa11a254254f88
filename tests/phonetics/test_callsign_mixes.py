"""Calls composed at random: valid, from their region, with the stated shares."""

from collections import Counter
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from phonetics.callsign_mixes import CALLSIGN_MIXES, compose_callsign
from phonetics.callsigns import (
    DISTRESS_SIGNALS,
    IRREGULAR_PREFIXES,
    UNALLOCATED_PREFIXES,
    explain_callsign,
    is_unassigned_callsign,
    is_valid_callsign,
    parse_callsign,
)
from phonetics.series import callsign_series, places, prefixes_of

SEEDS = st.integers(0, 2**64)


@given(SEEDS, st.sampled_from([mix for mix in CALLSIGN_MIXES if mix != "unassigned"]))
def test_composed_calls_are_valid_and_from_their_region(seed: int, mix: str) -> None:
    call = compose_callsign(Random(seed), mix=mix, strokes=0.3)
    assert is_valid_callsign(call.text), explain_callsign(call.text)
    assert parse_callsign(call.text) == call
    if mix != "world":
        assert call.place.region.lower().replace(" ", "-") == mix


@given(SEEDS)
def test_calls_of_the_unassigned_mix_cannot_have_been_assigned(seed: int) -> None:
    call = compose_callsign(Random(seed), mix="unassigned", strokes=0.3)
    assert is_unassigned_callsign(call.text)
    assert not is_valid_callsign(call.text)
    assert parse_callsign(call.text) == call
    assert call.prefix not in IRREGULAR_PREFIXES
    if call.before:
        assert call.before in UNALLOCATED_PREFIXES


@given(SEEDS)
def test_calls_of_other_mixes_could_be_assigned(seed: int) -> None:
    assert not is_unassigned_callsign(compose_callsign(Random(seed)).text)


def test_the_same_seed_gives_the_same_calls() -> None:
    first, second = Random(7), Random(7)
    assert [compose_callsign(first) for _ in range(50)] == [
        compose_callsign(second) for _ in range(50)
    ]


def test_forbidden_letter_groups_are_never_composed() -> None:
    rng = Random(1)
    suffixes = [compose_callsign(rng).suffix for _ in range(60_000)]
    assert not [suffix for suffix in suffixes if any(run in suffix for run in DISTRESS_SIGNALS)]
    assert not [s for s in suffixes if len(s) == 3 and s[0] == "Q" and s[1] in "RSTU"]
    # The check above could fail: groups that are nearly forbidden do occur.
    assert any(suffix.startswith("QA") for suffix in suffixes)


def test_the_world_mix_contains_every_structure() -> None:
    rng = Random(2)
    counts: Counter[str] = Counter()
    for _ in range(5000):
        call = compose_callsign(rng, strokes=0)
        counts[f"{len(call.prefix)}x{len(call.suffix)}"] += 1
    assert counts.keys() >= {"1x2", "1x3", "2x1", "2x2", "2x3"}
    assert all(counts[key] > 100 for key in ("1x2", "1x3", "2x1", "2x2", "2x3"))
    assert counts["1x1"] == 0  # special events only


def test_busy_regions_dominate_the_world_mix() -> None:
    rng = Random(3)
    regions = Counter(compose_callsign(rng).place.region for _ in range(5000))
    assert regions["Europe"] > regions["North America"] > regions["South America"]
    assert min(regions.values()) > 50


@pytest.mark.parametrize("share", [0.0, 0.04, 1.0])
def test_strokes_occur_with_their_share(share: float) -> None:
    rng = Random(4)
    strokes = sum("/" in compose_callsign(rng, strokes=share).text for _ in range(4000))
    assert strokes / 4000 == pytest.approx(share, abs=0.013)  # four standard errors at 0.04


def test_wrong_arguments_are_named_in_the_error() -> None:
    with pytest.raises(ValueError, match="mix 'mars' is unknown; use one of world"):
        compose_callsign(Random(1), mix="mars")
    with pytest.raises(ValueError, match="strokes 2 is not a share"):
        compose_callsign(Random(1), strokes=2)


def test_every_series_of_a_country_is_composed() -> None:
    """All series of Appendix 42 except those of organizations, by every prefix that they allow."""
    open_to_us = {prefix for place in places() for prefix in prefixes_of(place.holder)}
    for row in callsign_series():
        if row.first[:2] not in ("C7", "4U", "4Y"):
            half = row.first[:2] in ("3D", "SS")
            assert row.first[: 3 if half else 2] in open_to_us, row
    rng = Random(3)
    drawn = {compose_callsign(rng).prefix for _ in range(20_000)}
    common = {prefix for place in places() for prefix in place.prefixes}
    assert len(drawn - common) > 200
    assert drawn <= open_to_us | common
