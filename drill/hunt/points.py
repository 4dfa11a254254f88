"""Points of a hunt by the rules of an invented contest, which are a TOML file in `rules`."""

import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from drill.core.structuring import from_data
from drill.core.validation import one_of
from drill.hunt.checking import NOT_IN_THEIR_LOG, CheckedContact
from phonetics.callsigns import parse_callsign

DEFAULT_RULES = "lamps"
HZ_PER_BAND = 1_000_000
"""Unit that identifies an amateur band: the bands of a hunt differ in their whole megahertz."""


@dataclass(frozen=True, kw_only=True, slots=True)
class PointRules:
    """The points of an invented contest.

    title, sentence: its name, and its rules in words. contact: points of a right contact with a
    station in the trainee's own area. other_area: points of a contact with a station in another
    area. not_in_their_log: points, 0 or less, of a contact that only the trainee has logged.
    """

    title: str
    sentence: str
    contact: int
    other_area: int
    not_in_their_log: int


@dataclass(frozen=True, kw_only=True, slots=True)
class HuntPoints:
    """The points of a hunt.

    points: sum over the contacts, at least 0. areas: number of areas on all bands. score: points
    times areas. each: the points of every contact, in order.
    """

    points: int
    areas: int
    score: int
    each: tuple[int, ...]


@cache
def rules_names() -> tuple[str, ...]:
    """Return the names of the rules, sorted."""
    folder = files("drill.hunt") / "rules"
    names = (file.name for file in folder.iterdir())
    return tuple(sorted(name.removesuffix(".toml") for name in names if name.endswith(".toml")))


@cache
def load_rules(name: str = DEFAULT_RULES) -> PointRules:
    """Return rules by name. Raises: UserError with field "rules"."""
    one_of("rules", name, rules_names())
    text = (files("drill.hunt") / "rules" / f"{name}.toml").read_text("utf-8")
    return from_data(PointRules, tomllib.loads(text))


def area_of(call: str) -> str:
    """Return the area of a call: the holder of its prefix, or the prefix if nobody holds it."""
    callsign = parse_callsign(call)
    return callsign.holder or callsign.prefix


def count_points(
    contacts: Sequence[CheckedContact], *, own_call: str, rules: PointRules
) -> HuntPoints:
    """Return the points of the contacts of a hunt; contacts: in order."""
    own_area = area_of(own_call)
    areas: set[tuple[int, str]] = set()
    each: list[int] = []
    for contact in contacts:
        if contact.is_right:
            area = area_of(contact.logs.given_call)
            areas.add((int(contact.hz // HZ_PER_BAND), area))
            each.append(rules.contact if area == own_area else rules.other_area)
        else:
            each.append(rules.not_in_their_log if contact.verdict == NOT_IN_THEIR_LOG else 0)
    points = max(0, sum(each))
    return HuntPoints(points=points, areas=len(areas), score=points * len(areas), each=tuple(each))
