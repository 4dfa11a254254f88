"""Exchanges: what stations give each other in a contest, as small declarations.

An exchange is a TOML file: title, sentence, and a table `field` for each field with name, kind (a
key of KINDS), `optional = true` where a report of 59 may be left out, and the kind's options. The
contests are invented. A file in the user's folder adds an exchange, or replaces one that ships.
"""

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path
from random import Random
from types import MappingProxyType
from typing import Any

from phonetics.callsigns import Callsign
from phonetics.kinds import KINDS, Kind, OptionError
from phonetics.message import Field

__all__ = ["KINDS", "Exchange", "ExchangeError", "FieldRule", "Kind", "load", "names", "parse"]

MOST_FIELDS = 8
USUAL_REPORT = "59"
NEEDED = {"number": ("low", "high"), "word": ("words",)}
"""Options that a kind cannot do without."""
_NAME = re.compile(r"[a-z0-9][a-z0-9-]{0,30}")
_FIELD_NAME = re.compile(r"[a-z][a-z -]{0,14}")


class ExchangeError(ValueError):
    """An exchange that cannot be used: one line that names what is wrong and what is allowed."""


@dataclass(frozen=True, kw_only=True, slots=True)
class FieldRule:
    """How one field of an exchange comes about."""

    name: str
    kind: str
    optional: bool
    options: Mapping[str, Any]


@dataclass(frozen=True, kw_only=True, slots=True)
class Exchange:
    """A declared exchange: its name, invented contest, explanation and fields in order."""

    name: str
    title: str
    sentence: str
    fields: tuple[FieldRule, ...]

    @property
    def has_call(self) -> bool:
        """Return True where the call is itself a part of the exchange."""
        return any(rule.kind == "call" for rule in self.fields)

    def compose(self, rng: Random, call: Callsign, *, progress: int) -> tuple[Field, ...]:
        """Return the fields that this station gives.

        progress: contacts that the trainee has behind him, 0 or more; serial numbers rise with it.
        """
        composed = []
        for rule in self.fields:
            text = KINDS[rule.kind].compose(rng, call, rule.options, progress)
            composed.append(
                Field(
                    name=rule.name,
                    kind=rule.kind,
                    text=text,
                    optional_if=USUAL_REPORT if rule.optional else "",
                )
            )
        return tuple(composed)


def parse(text: str, name: str) -> Exchange:
    """Return the exchange that a TOML text declares.

    Raises: ExchangeError with one line that names the exchange, the value and what is allowed.
    """
    try:
        data = tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        raise _error(name, f"is not TOML: {error}") from None
    _known(name, "", data, ("title", "sentence", "field"))
    tables = data.get("field")
    if not isinstance(tables, list) or not 1 <= len(tables) <= MOST_FIELDS:
        raise _error(name, f"needs 1 to {MOST_FIELDS} [[field]] tables")
    rules = tuple(_rule(name, table, place) for place, table in enumerate(tables, 1))
    if len({rule.name for rule in rules}) < len(rules):
        raise _error(name, "has two fields of one name; give each its own")
    return Exchange(
        name=name,
        title=_text(name, data, "title"),
        sentence=_text(name, data, "sentence"),
        fields=rules,
    )


def _rule(name: str, table: Any, place: int) -> FieldRule:
    where = f"field {place}: "
    if not isinstance(table, dict):
        raise _error(name, f"{where}is not a table")
    kind = table.get("kind")
    if not isinstance(kind, str) or kind not in KINDS:
        raise _error(name, f"{where}kind {kind!r} is unknown; use one of {', '.join(KINDS)}")
    field_name = table.get("name", kind)
    if not isinstance(field_name, str) or not _FIELD_NAME.fullmatch(field_name):
        raise _error(name, f"{where}name {field_name!r} is not 1 to 15 small letters")
    optional = table.get("optional", False)
    if not isinstance(optional, bool) or (optional and kind != "report"):
        raise _error(name, f"{where}optional {optional!r} is for a report, true or false")
    options = {k: v for k, v in table.items() if k not in ("kind", "name", "optional")}
    missing = [key for key in NEEDED.get(kind, ()) if key not in options]
    if missing:
        raise _error(name, f"{where}a field of kind {kind} needs {' and '.join(missing)}")
    try:
        KINDS[kind].check(options)
    except OptionError as error:
        raise _error(name, f"{where}{error}") from None
    return FieldRule(
        name=field_name, kind=kind, optional=optional, options=MappingProxyType(options)
    )


def _error(name: str, what: str) -> ExchangeError:
    return ExchangeError(" ".join(f"exchange {name!r} {what}".split()))


def _known(name: str, where: str, data: Mapping[str, Any], allowed: tuple[str, ...]) -> None:
    for key in data:
        if key not in allowed:
            raise _error(name, f"{where}has an unknown key {key!r}; use {', '.join(allowed)}")


def _text(name: str, data: Mapping[str, Any], key: str) -> str:
    found = data.get(key)
    if not isinstance(found, str) or not found.strip():
        raise _error(name, f"needs a {key}, a text in quotes")
    return " ".join(found.split())


def names(folder: Path | None = None) -> tuple[str, ...]:
    """Return the names of all exchanges: those that ship, then those of the user's folder."""
    shipped = [p.name[:-5] for p in files("phonetics.exchanges").iterdir() if _is_toml(p.name)]
    own = [p.stem for p in folder.glob("*.toml")] if folder and folder.is_dir() else []
    return (*sorted(shipped), *sorted(set(own) - set(shipped)))


def _is_toml(name: str) -> bool:
    return name.endswith(".toml")


def load(name: str, folder: Path | None = None) -> Exchange:
    """Return an exchange by name; the user's folder goes before what ships.

    Raises: ExchangeError where there is none such, or where it cannot be used.
    """
    if _NAME.fullmatch(name):
        own = folder / f"{name}.toml" if folder else None
        try:
            if own and own.is_file():
                return parse(own.read_text("utf-8"), name)
        except (OSError, UnicodeDecodeError) as error:
            raise _error(name, f"cannot be read: {error}") from None
        shipped = files("phonetics.exchanges").joinpath(f"{name}.toml")
        if shipped.is_file():
            return parse(shipped.read_text("utf-8"), name)
    raise ExchangeError(f"there is no exchange {name!r}; choose one of {', '.join(names(folder))}")
