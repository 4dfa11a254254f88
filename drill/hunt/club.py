"""Compares the hunts of several people on the same band, from their exported files."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from drill.core.counting import plural
from drill.core.errors import UserError
from drill.core.text_blocks import Passage, Table
from drill.hunt.exports import HuntRow, read_hunts

MAX_CLUB_FILES = 100


@dataclass(frozen=True, kw_only=True, slots=True)
class ClubHunt:
    """One person's hunt; name: of the file, without its ending."""

    name: str
    row: HuntRow


def read_club(paths: Sequence[Path]) -> list[ClubHunt]:
    """Return all hunts of several files. Raises: UserError for a file that cannot be used."""
    if not 2 <= len(paths) <= MAX_CLUB_FILES:
        raise UserError(
            f"{plural(len(paths), 'file')} to compare; give 2 to {MAX_CLUB_FILES}", field="path"
        )
    return [ClubHunt(name=path.stem, row=row) for path in paths for row in read_hunts(path)]


def same_bands(hunts: Sequence[ClubHunt]) -> list[tuple[ClubHunt, ...]]:
    """Return the hunts by band, each band's best score first.

    Bands that only one person hunted on are left out; the band with the newest hunt comes first.
    If somebody hunted several times on a band, the first hunt counts.
    """
    groups: dict[str, dict[str, ClubHunt]] = {}
    for hunt in sorted(hunts, key=lambda hunt: hunt.row.started):
        groups.setdefault(hunt.row.same_band, {}).setdefault(hunt.name, hunt)
    shared = [tuple(group.values()) for group in groups.values() if len(group) > 1]
    shared.sort(key=lambda group: max(hunt.row.started for hunt in group), reverse=True)
    return [tuple(sorted(group, key=lambda hunt: -hunt.row.score)) for group in shared]


def club_passages(hunts: Sequence[ClubHunt]) -> list[Passage]:
    """Return the comparison, one passage for each band."""
    passages = []
    for group in same_bands(hunts):
        row = group[0].row
        minutes = f"{row.minutes:g} minutes"
        passages.append(
            Passage(
                title=f"{', '.join(row.bands)}, {minutes}, seed {row.seed}",
                table=_table(group),
                sentences=(_luck_sentence(group), _stations_sentence(group)),
            )
        )
    return passages


def _table(group: Sequence[ClubHunt]) -> Table:
    rows = tuple(
        (
            hunt.name,
            f"{hunt.row.watts:g} W",
            f"{hunt.row.right}",
            f"{hunt.row.logged - hunt.row.right} of {hunt.row.logged}",
            f"{hunt.row.points}",
            f"{hunt.row.areas}",
            f"{hunt.row.score}",
        )
        for hunt in group
    )
    head = ("name", "power", "right", "not counted", "points", "areas", "score")
    return Table(caption="Hunts on the same band", head=head, rows=rows)


def _luck_sentence(group: Sequence[ClubHunt]) -> str:
    """Return a sentence on whether the two best numbers of contacts differ by more than luck.

    The difference of two Poisson counts is compared with its standard deviation; the hunts of
    scripted hunters vary about as much (tests/measured/hunt.md).
    """
    ranked = sorted(group, key=lambda hunt: -hunt.row.right)
    best, second = ranked[0], ranked[1]
    difference = best.row.right - second.row.right
    limit = 1.96 * math.sqrt(max(1, best.row.right + second.row.right))
    if not difference:
        return f"{best.name} and {second.name} have the same number of contacts."
    names = f"{best.name} has {plural(difference, 'contact')} more than {second.name}"
    if difference > limit:
        return f"{names}, which is more than luck."
    return f"{names}; a difference of up to {math.floor(limit)} may be luck."


def _stations_sentence(group: Sequence[ClubHunt]) -> str:
    """Return a sentence on how many stations everybody worked, and how many only one person."""
    worked: Mapping[str, set[str]] = {hunt.name: set(hunt.row.stations) for hunt in group}
    everybody = set.intersection(*worked.values())
    counts: dict[str, int] = {}
    for stations in worked.values():
        for station in stations:
            counts[station] = counts.get(station, 0) + 1
    single = sum(count == 1 for count in counts.values())
    return (
        f"Together you worked {plural(len(counts), 'station')}: everybody worked "
        f"{len(everybody)} of them, and only one of you worked {single}."
    )
