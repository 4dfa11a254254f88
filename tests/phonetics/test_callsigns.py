"""Calls composed, taken apart and judged."""

from collections import Counter
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from phonetics.callsigns import (
    DISTRESS,
    FICTION,
    MIXES,
    UNALLOCATED,
    Callsign,
    compose,
    explain,
    is_unassigned,
    is_valid,
    parse,
)
from phonetics.series import holder_of, places, prefixes_of, series

SEEDS = st.integers(0, 2**64)


@given(SEEDS, st.sampled_from([mix for mix in MIXES if mix != "unassigned"]))
def test_composed_calls_are_valid_and_of_their_region(seed: int, mix: str) -> None:
    call = compose(Random(seed), mix=mix, strokes=0.3)
    assert is_valid(call.text), explain(call.text)
    assert parse(call.text) == call
    if mix != "world":
        assert call.place.region.lower().replace(" ", "-") == mix


@given(SEEDS)
def test_no_administration_can_have_assigned_the_unassigned(seed: int) -> None:
    call = compose(Random(seed), mix="unassigned", strokes=0.3)
    assert is_unassigned(call.text)
    assert not is_valid(call.text)
    assert parse(call.text) == call
    if call.before:
        assert not holder_of(call.before)


@given(SEEDS)
def test_a_composed_call_is_not_unassigned(seed: int) -> None:
    assert not is_unassigned(compose(Random(seed)).text)


@given(st.text(max_size=12) | st.text("EQS8190/KAP", max_size=9))
def test_any_text_is_judged(text: str) -> None:
    valid = is_valid(text)
    assert isinstance(explain(text), str)
    assert not (valid and is_unassigned(text))


def test_the_same_seed_gives_the_same_calls() -> None:
    first, second = Random(7), Random(7)
    assert [compose(first) for _ in range(50)] == [compose(second) for _ in range(50)]


def test_letter_groups_that_may_not_be_calls_are_never_made() -> None:
    rng = Random(1)
    suffixes = [compose(rng).suffix for _ in range(60_000)]
    assert not [suffix for suffix in suffixes if any(run in suffix for run in DISTRESS)]
    assert not [s for s in suffixes if len(s) == 3 and s[0] == "Q" and s[1] in "RSTU"]
    # The check above would see one: near neighbours of the forbidden groups do come up.
    assert any(suffix.startswith("QA") for suffix in suffixes)


def test_every_structure_comes_up_in_the_world() -> None:
    rng = Random(2)
    counts: Counter[str] = Counter()
    for _ in range(5000):
        call = compose(rng, strokes=0)
        counts[f"{len(call.prefix)}x{len(call.suffix)}"] += 1
    assert counts.keys() >= {"1x2", "1x3", "2x1", "2x2", "2x3"}
    assert all(counts[key] > 100 for key in ("1x2", "1x3", "2x1", "2x2", "2x3"))
    assert counts["1x1"] == 0  # special events only


def test_a_weekend_is_heard_mostly_from_the_busy_regions() -> None:
    rng = Random(3)
    regions = Counter(compose(rng).place.region for _ in range(5000))
    assert regions["Europe"] > regions["North America"] > regions["South America"]
    assert min(regions.values()) > 50


@pytest.mark.parametrize("share", [0.0, 0.04, 1.0])
def test_strokes_come_in_their_share(share: float) -> None:
    rng = Random(4)
    strokes = sum("/" in compose(rng, strokes=share).text for _ in range(4000))
    assert strokes / 4000 == pytest.approx(share, abs=0.013)  # four standard errors at 0.04


def test_a_call_with_a_stroke_is_where_the_stroke_says() -> None:
    visitor = parse("VK6/E81ABC")
    assert visitor.before == "VK6"
    assert visitor.place.region == "Oceania"
    moved = parse("W1QRS/6")
    assert moved.place.amateur_zone == 3  # the sixth call area, common practice, no source
    assert parse("W1QRS/P").place.amateur_zone == 5


def test_parts_are_told_apart() -> None:
    assert parse("X5/E81ABC/P") == Callsign(
        prefix="E8", digit="1", suffix="ABC", before="X5", after="P"
    )
    assert parse("K1QRS").prefix == "K"
    assert parse("3DA0QRS").prefix == "3DA"


@pytest.mark.parametrize("text", ["", "E8", "E81", "E8ABC", "/", "E81ABC/", "/E81ABC", "E81ABC/ZZ",
                                  "1/E81ABC", "E81ABC/P/P", "E81ABC P"])  # fmt: skip
def test_what_has_no_structure_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match=r"RR 19|stroke"):
        parse(text)
    assert not is_valid(text)
    assert not is_unassigned(text)


def test_wrong_choices_are_named() -> None:
    with pytest.raises(ValueError, match="mix 'mars' is unknown; use one of world"):
        compose(Random(1), mix="mars")
    with pytest.raises(ValueError, match="strokes 2 is not a share"):
        compose(Random(1), strokes=2)


def test_the_unallocated_prefixes_are_nobodys() -> None:
    assert not [prefix for prefix in UNALLOCATED if holder_of(prefix)]
    assert "fictional" in FICTION


def test_every_series_of_a_country_comes_up() -> None:
    """All series of Appendix 42 but for those of organizations, each by the prefixes it allows."""
    open_to_us = {prefix for place in places() for prefix in prefixes_of(place.holder)}
    for row in series():
        if row.first[:2] not in ("C7", "4U", "4Y"):
            half = row.first[:2] in ("3D", "SS")
            assert row.first[: 3 if half else 2] in open_to_us, row
    rng = Random(3)
    drawn = {compose(rng).prefix for _ in range(20_000)}
    common = {prefix for place in places() for prefix in place.prefixes}
    assert len(drawn - common) > 200
    assert drawn <= open_to_us | common
