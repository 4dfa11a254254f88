"""Options of a field kind: what a definition may set, checked with one clear line.

Conventions: an option is a whole number in a range, a switch, or a list of short texts.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path
from typing import Any

Options = Mapping[str, Any]

WORD = re.compile(r"[A-Za-z][A-Za-z'-]{0,23}")
CODE = re.compile(r"[A-Z0-9]{1,8}")
LETTER = re.compile(r"[A-Z]")
_SET_NAME = re.compile(r"[A-Za-z0-9_-]{1,40}")


@dataclass(frozen=True, kw_only=True, slots=True)
class Whole:
    """A whole number from low to high."""

    default: int
    low: int
    high: int

    def check(self, name: str, value: object) -> int:
        """Return value; raises ValueError where it is no such number."""
        if type(value) is not int or not self.low <= value <= self.high:
            raise ValueError(
                f"{name} = {_short(value)} is not a whole number from {self.low} to {self.high}"
            )
        return value


@dataclass(frozen=True, kw_only=True, slots=True)
class Switch:
    """True or false."""

    default: bool = False

    def check(self, name: str, value: object) -> bool:
        """Return value; raises ValueError where it is neither."""
        if not isinstance(value, bool):
            raise ValueError(f"{name} = {_short(value)} is neither true nor false")
        return value


@dataclass(frozen=True, kw_only=True, slots=True)
class Texts:
    """A list of texts that each match a pattern; a default of () must be replaced if needed."""

    default: tuple[str, ...]
    pattern: re.Pattern[str]
    what: str

    def check(self, name: str, value: object) -> tuple[str, ...]:
        """Return the texts in upper case; raises ValueError where one does not match."""
        if not isinstance(value, list) or not value:
            raise ValueError(f"{name} = {_short(value)} is not a list of {self.what}")
        for text in value:
            if not isinstance(text, str) or not self.pattern.fullmatch(text):
                raise ValueError(f"{name} holds {_short(text)}; it takes {self.what}")
        return tuple(text.upper() for text in value)


@dataclass(frozen=True, kw_only=True, slots=True)
class Wholes:
    """A list of whole numbers from low to high."""

    default: tuple[int, ...]
    low: int
    high: int

    def check(self, name: str, value: object) -> tuple[int, ...]:
        """Return the numbers; raises ValueError where one is none or out of range."""
        if not isinstance(value, list) or not value:
            raise ValueError(f"{name} = {_short(value)} is not a list of whole numbers")
        one = Whole(default=self.low, low=self.low, high=self.high)
        return tuple(one.check(name, number) for number in value)


@dataclass(frozen=True, kw_only=True, slots=True)
class SetName:
    """The name of a file of areas."""

    default: str

    def check(self, name: str, value: object) -> str:
        """Return the name; raises ValueError where it could not be a file's."""
        if not isinstance(value, str) or not _SET_NAME.fullmatch(value):
            raise ValueError(f"{name} = {_short(value)} is not a name of letters, digits, - and _")
        return value


Option = Whole | Switch | Texts | Wholes | SetName


def check(options: Mapping[str, object], known: Mapping[str, Option]) -> dict[str, Any]:
    """Return the options checked, defaults filled in.

    Raises: ValueError naming an option that is unknown or wrong.
    """
    for name in options:
        if name not in known:
            raise ValueError(f"unknown option {_short(name)}; known are {', '.join(known) or 'none'}")
    checked = {
        name: option.check(name, options[name]) if name in options else option.default
        for name, option in known.items()
    }
    if "min" in checked and checked["min"] > checked["max"]:
        raise ValueError(f"min = {checked['min']} is above max = {checked['max']}")
    return checked


def read_areas(name: str, folder: Path | None) -> dict[str, str]:
    """Return code and name of every area of a set: NAME.tsv of the folder, or a shipped one.

    Raises: ValueError where there is no such set or a line of it is wrong.
    """
    own = folder / f"{name}.tsv" if folder else None
    shipped = files("phonetics").joinpath("data", "areas", f"{name}.tsv")
    try:
        source = own if own and own.is_file() else shipped
        lines = source.read_text(encoding="utf-8").splitlines()
    except (OSError, UnicodeDecodeError):
        raise ValueError(f"set of areas {name!r} cannot be read; make {name}.tsv") from None
    areas: dict[str, str] = {}
    for line in lines:
        if not line.strip() or line.startswith("#"):
            continue
        code, _, title = line.partition("\t")
        if not CODE.fullmatch(code):
            raise ValueError(f"set of areas {name!r}: {_short(code)} is not a code of A-Z and 0-9")
        areas[code] = title.strip()
    if not areas:
        raise ValueError(f"set of areas {name!r} holds no code")
    return areas


def _short(value: object) -> str:
    """Return the value on one line, cut to a length that can be read."""
    try:
        text = repr(value)
    except ValueError:  # Python refuses to write out whole numbers of thousands of digits
        text = "a very long number"
    return text if len(text) <= 60 else text[:57] + "..."
