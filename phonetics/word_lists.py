"""Word lists that exchanges draw from: sets of invented areas, and given names."""

from collections.abc import Mapping
from functools import lru_cache
from importlib.resources import files


class WordListError(ValueError):
    """A word list that does not exist: the message names those that do."""


@lru_cache(maxsize=8)
def area_names(name: str) -> Mapping[str, str]:
    """Return the areas of a set, code to name. Raises: WordListError for an unknown set."""
    path = files("phonetics").joinpath("data", "areas", f"{name}.tsv")
    if not name.isalpha() or not path.is_file():
        raise WordListError(
            f"area set {name!r} is unknown; choose one of {', '.join(area_set_names())}"
        )
    rows = path.read_text("utf-8").splitlines()[1:]
    return dict(row.split("\t") for row in rows if row)


def area_set_names() -> tuple[str, ...]:
    """Return the names of the area sets that come with the package."""
    folder = files("phonetics").joinpath("data", "areas")
    return tuple(sorted(path.name[:-4] for path in folder.iterdir() if path.name.endswith(".tsv")))


@lru_cache(maxsize=1)
def given_names() -> tuple[str, ...]:
    """Return common given names."""
    return tuple(files("phonetics").joinpath("data", "names.txt").read_text("utf-8").split())
