"""Versions of the packages that engines come in: part of what decides a voice's sound."""

from importlib.metadata import PackageNotFoundError, version


def version_of(package: str) -> str:
    """Return the installed version of a package, "none" where it is not installed."""
    try:
        return version(package)
    except PackageNotFoundError:
        return "none"
