"""Plug-ins: classes of installed packages, found by the name of their entry point.

Source: Python packaging user guide, entry points specification.
"""

from functools import cache
from importlib.metadata import EntryPoints, entry_points
from typing import Any

from drill.core.errors import ResourceUnavailable


def entry_point_names(group: str) -> tuple[str, ...]:
    """Return the names in a group of entry points, in alphabetical order."""
    return tuple(sorted(entry.name for entry in group_entries(group)))


@cache
def group_entries(group: str) -> EntryPoints:
    """Return the entries of a group; cached because the search reads every installed package."""
    return entry_points(group=group)


def load_entry_point(
    group: str, name: str, *, label: str, if_none: str, error: type[ResourceUnavailable]
) -> Any:
    """Return a new object of the class that an entry point names; import its module only now.

    label: the term for such an object in messages ("voice engine"). if_none: text that replaces the
    list of names if the group is empty.
    Raises: `error` if the name is not in the group, listing the names that are, or if the import
    fails.
    """
    for entry in group_entries(group).select(name=name):
        try:
            return entry.load()()
        except ImportError as failure:
            raise error(f"the {label} {name!r} cannot start: {failure}") from None
    names = ", ".join(entry_point_names(group)) or if_none
    raise error(f"no {label} {name!r}; choose one of: {names}")
