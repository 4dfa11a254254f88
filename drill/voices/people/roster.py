"""The operators that come with faintcall: synthetic persons, read from data files.

No operator is a real person. Operators differ in voice, pitch, vocal tract, pace, accent, vocal
style, speaking habits and ways of saying words. Each engine that comes with operators has a data
file: natural_operators.toml, formant_operators.toml, studio_operators.toml.

How well a speech recogniser understands each operator is listed in tests/measured/voice_gate.md,
how far apart the operators are in tests/measured/distinctness.md.
"""

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

from drill.core.models import Operator
from drill.core.structuring import from_data
from drill.voices.people.ways import habitual_ways

NATURAL_GROUP, FORMANT_GROUP, STUDIO_GROUP = "natural", "formant", "studio"
BUNDLED_GROUP = "bundled"
ENGINE_GROUPS = (NATURAL_GROUP, FORMANT_GROUP, STUDIO_GROUP)
"""The groups that have a data file; together they contain every operator once."""
OPERATOR_GROUPS = {
    NATURAL_GROUP: (NATURAL_GROUP,),
    FORMANT_GROUP: (FORMANT_GROUP,),
    BUNDLED_GROUP: (NATURAL_GROUP, FORMANT_GROUP),
    STUDIO_GROUP: (STUDIO_GROUP,),
}
"""Names of groups of operators, and the groups with a data file that each one joins."""


@dataclass(frozen=True, kw_only=True, slots=True)
class RosterEntry:
    """A row of a data file: an operator and the name of its habit profile, "" for none.

    habit_profile: a key of drill.voices.people.habits.habit_profiles(). by_request: the operator
    has not passed the voice gate, so it is not drawn by default.
    """

    operator: Operator
    habit_profile: str
    by_request: bool = False


@cache
def roster_entries(group: str) -> tuple[RosterEntry, ...]:
    """Return the rows of a group, in the order of the data files.

    group: a key of OPERATOR_GROUPS. Raises: KeyError for an unknown group.
    """
    folder = files("drill.voices.people")
    rows: list[dict[str, Any]] = []
    for name in OPERATOR_GROUPS[group]:
        text = (folder / f"{name}_operators.toml").read_text("utf-8")
        rows += tomllib.loads(text)["operators"]
    return tuple(_entry_from_row(row) for row in rows)


def _entry_from_row(row: dict[str, Any]) -> RosterEntry:
    values = dict(row)
    habit_profile = values.pop("habits", "")
    if share := values.pop("own_ways", 0.0):
        values["ways"] = habitual_ways(values["name"], share)
    by_request = values.pop("by_request", False)
    return RosterEntry(
        operator=from_data(Operator, values), habit_profile=habit_profile, by_request=by_request
    )


def group_members(group: str) -> tuple[Operator, ...]:
    """Return all operators of a group, including those that speak only on request.

    Raises: KeyError for an unknown group.
    """
    return tuple(entry.operator for entry in roster_entries(group))


def default_members(group: str) -> tuple[Operator, ...]:
    """Return the operators of a group that may be drawn by default.

    Raises: KeyError for an unknown group.
    """
    return tuple(
        entry.operator
        for entry in roster_entries(group)
        if not entry.operator.hard and not entry.by_request
    )


def find_roster_entry(name: str) -> RosterEntry | None:
    """Return the row of the operator with this name, None if no data file has one."""
    entries = (entry for group in ENGINE_GROUPS for entry in roster_entries(group))
    return next((entry for entry in entries if entry.operator.name == name), None)


ROSTER: tuple[Operator, ...] = group_members(BUNDLED_GROUP)
"""All operators of the bundled group, including those that speak only on request."""
