"""Call sign series and places."""

import re

import pytest

from phonetics.series import REGIONS, callsign_series, holder_of, holders, place_of, places

NO_COUNTRIES = {
    "World Meteorological Organization",
    "United Nations",
    "International Civil Aviation Organization",
}


def test_no_two_series_overlap() -> None:
    rows = callsign_series()
    assert len(rows) == 308
    assert all(holder_of(row.first) == row.holder == holder_of(row.last) for row in rows)


def test_every_country_has_a_place() -> None:
    assert {place.holder for place in places()} == set(holders()) - NO_COUNTRIES


def test_every_prefix_of_a_place_belongs_to_one_holder() -> None:
    for place in places():
        assert {holder_of(prefix) for prefix in place.prefixes} == {place.holder}
        assert place.holder


def test_zones_and_squares_of_places_exist() -> None:
    for place in places():
        assert place.region in REGIONS
        assert place.weight > 0
        assert place.digits.isdigit()
        assert set(place.suffixes) <= {1, 2, 3}
        assert 1 <= place.itu_zone <= 90
        assert 1 <= place.amateur_zone <= 40
        assert all(re.fullmatch("[A-R]{2}[0-9]{2}", square) for square in place.squares)
    assert {place.region for place in places()} == set(REGIONS)
    # Every zone number exists in its scheme. Of the 40 amateur zones, those without a listed place
    # do not occur.
    assert len({place.amateur_zone for place in places()}) >= 36


@pytest.mark.parametrize(
    ("prefix", "digit", "itu", "amateur"),
    [  # Zones of whole countries, common practice, no source.
        ("DL", "1", 28, 14),
        ("JA", "1", 45, 25),
        ("G", "3", 27, 14),
        ("ZS", "6", 57, 38),
        ("KH", "6", 61, 31),
        ("W", "6", 6, 3),
        ("W", "1", 8, 5),
        ("TF", "3", 17, 40),
        ("ZL", "2", 60, 32),
    ],
)
def test_prefix_and_digit_determine_the_place(
    prefix: str, digit: str, itu: int, amateur: int
) -> None:
    place = place_of(prefix, digit)
    assert (place.itu_zone, place.amateur_zone) == (itu, amateur)


def test_an_unlisted_prefix_belongs_to_a_place_of_its_holder() -> None:
    assert place_of("DR", "5").holder == holder_of("DL")


def test_an_unallocated_prefix_always_gets_the_same_place() -> None:
    assert place_of("E8", "1") is place_of("E8", "2")
    assert len({id(place_of(prefix, "1")) for prefix in ("E8", "E9", "J9", "X2", "Z4")}) > 1


@pytest.mark.parametrize("prefix", ["", "3D", "SS", "E8", "Q", "C", "abc", "ABCD", "-"])
def test_a_shared_or_unallocated_prefix_has_no_holder(prefix: str) -> None:
    assert holder_of(prefix) == ""
