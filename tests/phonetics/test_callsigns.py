"""Call signs: parsing, validity, holders."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from phonetics.callsign_mixes import FICTION_NOTICE
from phonetics.callsigns import (
    IRREGULAR_PREFIXES,
    UNALLOCATED_PREFIXES,
    Callsign,
    explain_callsign,
    is_unassigned_callsign,
    is_valid_callsign,
    parse_callsign,
)
from phonetics.series import holder_of

SEEDS = st.integers(0, 2**64)


@given(st.text(max_size=12) | st.text("EQS8190/KAP", max_size=9))
def test_any_text_gets_a_verdict(text: str) -> None:
    valid = is_valid_callsign(text)
    assert isinstance(explain_callsign(text), str)
    assert not (valid and is_unassigned_callsign(text))


def test_a_stroke_moves_the_call_to_another_place() -> None:
    visitor = parse_callsign("VK6/E81ABC")
    assert visitor.before == "VK6"
    assert visitor.place.region == "Oceania"
    moved = parse_callsign("W1QRS/6")
    assert moved.place.amateur_zone == 3  # the sixth call area, common practice, no source
    assert parse_callsign("W1QRS/P").place.amateur_zone == 5


def test_parsing_separates_the_parts() -> None:
    assert parse_callsign("X4/E81ABC/P") == Callsign(
        prefix="E8", digit="1", suffix="ABC", before="X4", after="P"
    )
    assert parse_callsign("K1QRS").prefix == "K"
    assert parse_callsign("3DA0QRS").prefix == "3DA"


@pytest.mark.parametrize("text", ["", "E8", "E81", "E8ABC", "/", "E81ABC/", "/E81ABC", "E81ABC/ZZ",
                                  "1/E81ABC", "E81ABC/P/P", "E81ABC P"])  # fmt: skip
def test_text_without_the_structure_of_a_call_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match=r"RR 19|stroke"):
        parse_callsign(text)
    assert not is_valid_callsign(text)
    assert not is_unassigned_callsign(text)


def test_unallocated_prefixes_have_no_holder() -> None:
    assert not [prefix for prefix in UNALLOCATED_PREFIXES if holder_of(prefix)]
    assert not [prefix for prefix in IRREGULAR_PREFIXES if holder_of(prefix)]
    assert "fictional" in FICTION_NOTICE


@pytest.mark.parametrize(
    "prefix",
    # Prefixes outside Appendix 42 that are or were on the air: values from memory.
    [
        "Z6",
        "H5",
        "S4",
        "V9",
        "T9",
        "4N",
        "YZ",
        "X5",
        "U5",
        "1A",
        "1B",
        "1S",
        "S0",
        "S1",
        "D0",
        "T0",
    ],
)
def test_no_prefix_that_was_ever_on_the_air_counts_as_unassigned(prefix: str) -> None:
    assert prefix not in UNALLOCATED_PREFIXES
    assert not is_unassigned_callsign(f"{prefix}1ABC")
