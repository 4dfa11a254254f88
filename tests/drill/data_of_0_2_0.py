"""The data that version 0.2.0 composed calls and areas from, and its operators.

The same plan gives the same items as in 0.2.0 as long as this data is the same. Since then,
prefixes that were on the air have left the mix `unassigned`, places were corrected and added, areas
have other codes, and operators have ways of saying words or were made easier to understand.
"""

import tomllib
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from drill.voices.people import roster
from phonetics import callsign_mixes, field_kinds, series

DATA = Path(__file__).parent / "records" / "data"
UNALLOCATED_PREFIXES = (
    "E8", "E9", "H5", "J9", "S4", "T9", "V9", "YZ", "Z4", "Z5", "Z6", "Z7", "Z9", "4N", "U2", "U3",
    "U4", "U5", "U6", "U7", "U8", "U9", "X2", "X3", "X4", "X5", "X6", "X7", "X8", "X9",
)  # fmt: skip


@contextmanager
def data_of_0_2_0() -> Iterator[None]:
    """Compose items from the data of version 0.2.0 within the block."""
    rows, areas = _rows("places-0.2.0.tsv"), dict(_rows("areas-0.2.0.tsv"))
    other_rows = series._rows
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(callsign_mixes, "UNALLOCATED_PREFIXES", UNALLOCATED_PREFIXES)
        patch.setattr(
            series, "_rows", lambda name: rows if name == "places.tsv" else other_rows(name)
        )
        patch.setattr(field_kinds, "area_names", lambda name: areas)
        patch.setattr(roster, "roster_entries", _roster_entries)
        _forget_places()
        yield
    _forget_places()


def _roster_entries(group: str) -> tuple[roster.RosterEntry, ...]:
    rows = tomllib.loads((DATA / "operators-0.2.0.toml").read_text("utf-8"))["operators"]
    engines = roster.OPERATOR_GROUPS[group]
    return tuple(roster._entry_from_row(row) for row in rows if row["engine"] in engines)


def _rows(name: str) -> list[list[str]]:
    return [line.split("\t") for line in (DATA / name).read_text("utf-8").splitlines()[1:]]


def _forget_places() -> None:
    for function in (
        series.places, series._by_prefix, series._likeliest,
        callsign_mixes._mix, callsign_mixes.rare_prefixes,
    ):  # fmt: skip
        function.cache_clear()
