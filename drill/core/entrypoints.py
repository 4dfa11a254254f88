"""Plug-ins: classes of installed packages, found by the name of their entry point.

Source: Python packaging user guide, entry points specification.
"""

from importlib.metadata import entry_points
from typing import Any

from drill.core.errors import ResourceUnavailable


def entry_point_names(group: str) -> tuple[str, ...]:
    """Return the names in a group of entry points, in alphabetical order."""
    return tuple(sorted(entry.name for entry in entry_points(group=group)))


def load_entry_point(
    group: str, name: str, *, label: str, if_none: str, error: type[ResourceUnavailable]
) -> Any:
    """Return a new object of the class that an entry point names; import its module only now.

    label: how messages call such an object ("voice engine"). if_none: what a message lists if the
    group is empty.
    Raises: `error` if the group lacks the name, listing those it has, or if the import fails.
    """
    for entry in entry_points(group=group, name=name):
        try:
            return entry.load()()
        except ImportError as failure:
            raise error(f"the {label} {name!r} cannot start: {failure}") from None
    names = ", ".join(entry_point_names(group)) or if_none
    raise error(f"no {label} {name!r}; choose one of: {names}")
