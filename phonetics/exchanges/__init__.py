"""Exchanges: the fields that stations send each other in a contest, declared in small TOML files.

A file has a title, a sentence, and a `[[field]]` table for each field: its name, its kind (a key of
FIELD_KINDS), `optional = true` if a report of 59 may be left out, and the options of the kind. The
contests are invented. A file in the user's folder adds an exchange or replaces a built-in one.
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
from phonetics.field_kinds import FIELD_KINDS, OptionError
from phonetics.field_options import shown_value
from phonetics.message import Field

MOST_FIELDS = 8
USUAL_REPORT = "59"
REQUIRED_OPTIONS = {"number": ("low", "high"), "word": ("words",)}
"""Options that a field of this kind must have."""
_NAME = re.compile(r"[a-z0-9][a-z0-9-]{0,30}")
_FIELD_NAME = re.compile(r"[a-z][a-z -]{0,14}")


class ExchangeError(ValueError):
    """An exchange that cannot be used; the message names the fault and the allowed values."""


@dataclass(frozen=True, kw_only=True, slots=True)
class FieldRule:
    """How one field of an exchange is composed."""

    name: str
    kind: str
    optional: bool
    options: Mapping[str, Any]


@dataclass(frozen=True, kw_only=True, slots=True)
class Exchange:
    """An exchange: its name, invented contest (title), explanation and fields in order."""

    name: str
    title: str
    sentence: str
    fields: tuple[FieldRule, ...]

    @property
    def has_call(self) -> bool:
        """Whether the call itself is part of the exchange."""
        return any(rule.kind == "call" for rule in self.fields)

    def compose(self, rng: Random, call: Callsign, *, progress: int) -> tuple[Field, ...]:
        """Return the fields that a station sends.

        progress: number of contacts that the trainee has completed; serial numbers rise with it.
        """
        composed = []
        for rule in self.fields:
            text = FIELD_KINDS[rule.kind].compose(rng, call, rule.options, progress)
            composed.append(
                Field(
                    name=rule.name,
                    kind=rule.kind,
                    text=text,
                    optional_if=USUAL_REPORT if rule.optional else "",
                )
            )
        return tuple(composed)


def parse_exchange(text: str, name: str) -> Exchange:
    """Return the exchange that a TOML text declares.

    Raises: ExchangeError naming the exchange, the wrong value and what is allowed.
    """
    try:
        data = tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        raise _error(name, f"is not TOML: {error}") from None
    _check_keys(name, "", data, ("title", "sentence", "field"))
    tables = data.get("field")
    if not isinstance(tables, list) or not 1 <= len(tables) <= MOST_FIELDS:
        raise _error(name, f"needs 1 to {MOST_FIELDS} [[field]] tables")
    rules = tuple(_rule(name, table, place) for place, table in enumerate(tables, 1))
    if len({rule.name for rule in rules}) < len(rules):
        raise _error(name, "has two fields with the same name; give each field its own name")
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
    if not isinstance(kind, str) or kind not in FIELD_KINDS:
        known = ", ".join(FIELD_KINDS)
        raise _error(name, f"{where}kind {shown_value(kind)} is unknown; use one of {known}")
    field_name = table.get("name", kind)
    if not isinstance(field_name, str) or not _FIELD_NAME.fullmatch(field_name):
        raise _error(
            name, f"{where}name {shown_value(field_name)} is not 1 to 15 lower-case letters"
        )
    optional = table.get("optional", False)
    if not isinstance(optional, bool) or (optional and kind != "report"):
        raise _error(
            name, f"{where}optional has to be true or false, and only a report can be optional"
        )
    options = {k: v for k, v in table.items() if k not in ("kind", "name", "optional")}
    missing = [key for key in REQUIRED_OPTIONS.get(kind, ()) if key not in options]
    if missing:
        raise _error(name, f"{where}a field of kind {kind} needs {' and '.join(missing)}")
    try:
        FIELD_KINDS[kind].check(options)
    except OptionError as error:
        raise _error(name, f"{where}{error}") from None
    return FieldRule(
        name=field_name, kind=kind, optional=optional, options=MappingProxyType(options)
    )


def _error(name: str, what: str) -> ExchangeError:
    return ExchangeError(" ".join(f"exchange {name!r} {what}".split()))


def _check_keys(name: str, where: str, data: Mapping[str, Any], allowed: tuple[str, ...]) -> None:
    for key in data:
        if key not in allowed:
            raise _error(name, f"{where}has an unknown key {key!r}; use {', '.join(allowed)}")


def _text(name: str, data: Mapping[str, Any], key: str) -> str:
    text = data.get(key)
    if not isinstance(text, str) or not text.strip():
        raise _error(name, f"needs a {key}, a text in quotes")
    return " ".join(text.split())


def exchange_names(folder: Path | None = None) -> tuple[str, ...]:
    """Return the names of all exchanges: the built-in ones, then those of the user's folder."""
    entries = files("phonetics.exchanges").iterdir()
    built_in = {entry.name[:-5] for entry in entries if entry.name.endswith(".toml")}
    own = {path.stem for path in folder.glob("*.toml")} if folder and folder.is_dir() else set()
    usable = {name for name in own if _NAME.fullmatch(name)}
    return (*sorted(built_in), *sorted(usable - built_in))


def load_exchange(name: str, folder: Path | None = None) -> Exchange:
    """Return an exchange by name; the user's folder takes precedence over the built-in ones.

    Raises: ExchangeError for an unknown name or a file that cannot be used.
    """
    if _NAME.fullmatch(name):
        own = folder / f"{name}.toml" if folder else None
        try:
            if own and own.is_file():
                # Editors on Windows begin a file with a byte order mark.
                return parse_exchange(own.read_text("utf-8-sig"), name)
        except (OSError, UnicodeDecodeError) as error:
            raise _error(name, f"cannot be read: {error}") from None
        built_in = files("phonetics.exchanges").joinpath(f"{name}.toml")
        if built_in.is_file():
            return parse_exchange(built_in.read_text("utf-8"), name)
    if folder and re.fullmatch(r"[\w -]+", name) and (folder / f"{name}.toml").is_file():
        raise _error(
            name,
            "cannot have this name; rename its file to 1 to 31 lower-case letters, digits and "
            "hyphens",
        )
    raise ExchangeError(
        f"unknown exchange {name!r}; choose one of {', '.join(exchange_names(folder))}"
    )
