"""The share of luck in a hunt: the contacts of a scripted hunter on other bands of the same kind.

The figures are in luck.toml; python -m tests.tools.hunt_table computes them.
"""

import math
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from drill.core.structuring import from_data
from drill.hunt.results import HuntResult

LEAST_SEEDS = 5
"""Minimum number of hunts: with fewer, the standard deviation is too uncertain."""


@dataclass(frozen=True, kw_only=True, slots=True)
class LuckRow:
    """Contacts that count, per hour, of a scripted hunter over `seeds` seeds of a kind of band.

    band: name of the preset. policy: key of drill.hunt.hunter.POLICIES. mean, sd: of the contacts.
    """

    band: str
    watts: float
    policy: str
    mean: float
    sd: float
    seeds: int


@dataclass(frozen=True, kw_only=True, slots=True)
class HuntLuck:
    """Contacts that a scripted hunter makes in the time of a hunt: mean, SD over bands, number."""

    mean: float
    sd: float
    seeds: int


@cache
def luck_rows() -> tuple[LuckRow, ...]:
    """Return all rows; empty if there is no file."""
    file = files("drill.hunt") / "luck.toml"
    if not file.is_file():
        return ()
    data = tomllib.loads(file.read_text("utf-8"))
    return tuple(from_data(LuckRow, row, "luck") for row in data["luck"])


def hunt_luck(result: HuntResult, rows: Sequence[LuckRow] | None = None) -> HuntLuck | None:
    """Return the luck of a hunt; None if no row is about its bands.

    Between the powers of the rows the values are interpolated over the logarithm of the power. The
    mean is proportional to the length of the hunt, the SD to its root. Of several bands, the one
    with the most contacts counts. rows: None for all.
    """
    rows = luck_rows() if rows is None else rows
    options = [_at_power(band, result.watts, rows) for band in result.bands]
    known = [option for option in options if option is not None]
    if not known:
        return None
    mean, sd, seeds = max(known)
    return HuntLuck(mean=mean * result.hours, sd=sd * math.sqrt(result.hours), seeds=seeds)


def _at_power(band: str, watts: float, rows: Sequence[LuckRow]) -> tuple[float, float, int] | None:
    """Return mean and SD in an hour, and the number of seeds, of the best policy."""
    inside = [row for row in rows if row.band == band]
    if not inside:
        return None
    policy = max(inside, key=lambda row: row.mean).policy
    points = sorted((row for row in inside if row.policy == policy), key=lambda row: row.watts)
    watts = min(max(watts, points[0].watts), points[-1].watts)
    high = next(index for index, row in enumerate(points) if row.watts >= watts)
    low = max(0, high - 1)
    span = math.log(points[high].watts / points[low].watts)
    share = math.log(watts / points[low].watts) / span if span else 0.0

    def between(first: float, second: float) -> float:
        return first + share * (second - first)

    return (
        between(points[low].mean, points[high].mean),
        between(points[low].sd, points[high].sd),
        min(points[low].seeds, points[high].seeds),
    )


def luck_sentence(result: HuntResult) -> str:
    """Return a sentence that compares the trainee with a scripted hunter, "" without figures."""
    luck = hunt_luck(result)
    if luck is None or luck.seeds < LEAST_SEEDS:
        return ""
    low, high = max(0.0, luck.mean - luck.sd), luck.mean + luck.sd
    return (
        f"A scripted hunter with {result.watts:g} W makes {luck.mean:.0f} contacts in this time on "
        f"such a band, in two of three hunts {low:.0f} to {high:.0f} (from {luck.seeds} bands): so "
        f"much is luck. You made {result.right}."
    )
