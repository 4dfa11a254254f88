"""The operators that come with faintcall: synthetic persons, read from data files.

No operator is a real person. Operators differ in voice, pitch, vocal tract, pace, accent, vocal
style and speaking habits. `roster.toml` holds the operators of the engines that every
installation has, `studio_operators.toml` those of the optional studio engine.

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

BUNDLED_GROUP, STUDIO_GROUP = "bundled", "studio"
OPERATOR_GROUPS = {BUNDLED_GROUP: "roster.toml", STUDIO_GROUP: "studio_operators.toml"}
"""Names that stand for a group of operators, and the data file of each group."""


@dataclass(frozen=True, kw_only=True, slots=True)
class RosterEntry:
    """A row of a data file: an operator and the name of its habit profile, "" for none.

    habit_profile: a key of drill.voices.people.habits.habit_profiles().
    """

    operator: Operator
    habit_profile: str


@cache
def roster_entries(group: str) -> tuple[RosterEntry, ...]:
    """Return the rows of a group's data file, in the order of the file.

    group: a key of OPERATOR_GROUPS. A group without a data file in this version has no rows.
    Raises: KeyError for an unknown group.
    """
    path = files("drill.voices.people") / OPERATOR_GROUPS[group]
    if not path.is_file():
        return ()
    rows = tomllib.loads(path.read_text("utf-8"))["operators"]
    return tuple(_entry_from_row(row) for row in rows)


def _entry_from_row(row: dict[str, Any]) -> RosterEntry:
    habit_profile = row.pop("habits", "")
    return RosterEntry(operator=from_data(Operator, row), habit_profile=habit_profile)


def group_members(group: str) -> tuple[Operator, ...]:
    """Return all operators of a group, those marked hard included.

    Raises: KeyError for an unknown group.
    """
    return tuple(entry.operator for entry in roster_entries(group))


def find_roster_entry(name: str) -> RosterEntry | None:
    """Return the row of the operator with this name, None if no data file has one."""
    entries = (entry for group in OPERATOR_GROUPS for entry in roster_entries(group))
    return next((entry for entry in entries if entry.operator.name == name), None)


ROSTER: tuple[Operator, ...] = group_members(BUNDLED_GROUP)
"""All operators of the bundled group, those marked hard included."""
