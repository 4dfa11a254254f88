"""Engines that are found by name: entry points of installed packages, imported when first used."""

from typing import Any

from drill.core.errors import ResourceUnavailable


def names(group: str) -> tuple[str, ...]:
    """Return the names in a group of entry points, in alphabetical order."""
    from importlib.metadata import entry_points

    return tuple(sorted(entry.name for entry in entry_points(group=group)))


def made(group: str, name: str, *, what: str, none: str, lack: type[ResourceUnavailable]) -> Any:
    """Return an object of the class that the entry point of that name leads to.

    what: how messages call it. none: said where the group is empty. Raises: lack where there is no
    such entry point, naming those there are, or where it cannot be imported.
    """
    from importlib.metadata import entry_points

    for entry in entry_points(group=group, name=name):
        try:
            return entry.load()()
        except ImportError as error:
            raise lack(f"the {what} {name!r} cannot start: {error}") from None
    there = ", ".join(names(group)) or none
    raise lack(f"no {what} {name!r}; there are: {there}")
