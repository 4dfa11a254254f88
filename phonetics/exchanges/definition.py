"""An exchange as declared: its fields in order, read from TOML and composed for a call."""

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path
from random import Random
from typing import Any

from phonetics.callsigns import Callsign
from phonetics.exchanges.kinds import KINDS
from phonetics.message import Field

SHIPPED: tuple[str, ...] = (
    "serial", "zone-itu", "zone-amateur", "power", "area", "locator", "age", "name-area",
    "five-part",
)  # fmt: skip

MAX_FIELDS = 8
_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9_-]{0,39}")
_FIELD_NAME = re.compile(r"[a-z][a-z0-9-]{0,23}")
_USUAL_REPORT = "59"


class ExchangeError(ValueError):
    """A definition that cannot be used; the message is one line that says why."""


@dataclass(frozen=True, kw_only=True, slots=True)
class FieldSpec:
    """One field as declared: its name, its kind (a key of KINDS), its checked options."""

    name: str
    kind: str
    options: Mapping[str, Any]


@dataclass(frozen=True, kw_only=True, slots=True)
class Exchange:
    """What is exchanged: a name, the invented contest's title, a sentence, the fields in order."""

    name: str
    title: str
    sentence: str
    fields: tuple[FieldSpec, ...]

    @property
    def holds_call(self) -> bool:
        """Return True where the call is itself a field of the exchange."""
        return any(spec.kind == "call" for spec in self.fields)

    def compose(self, rng: Random, call: Callsign, *, progress: int = 0) -> tuple[Field, ...]:
        """Return what the station of the call sends as its contact number `progress`, from 0."""
        return tuple(
            Field(
                name=spec.name,
                kind=spec.kind,
                text=KINDS[spec.kind].compose(rng, call, spec.options, progress),
                optional_if=_USUAL_REPORT if spec.options.get("optional") is True else "",
            )
            for spec in self.fields
        )


def parse(toml_text: str, name: str, folder: Path | None = None) -> Exchange:
    """Return the exchange that a TOML text declares. folder: where own sets of areas are.

    Raises: ExchangeError with one line that names the fault.
    """
    try:
        data = tomllib.loads(toml_text)
    except (ValueError, RecursionError) as error:
        raise ExchangeError(f"exchange {name!r} is not TOML: {_one_line(error)}") from None
    try:
        return _exchange(data, name, folder)
    except ValueError as error:
        raise ExchangeError(f"exchange {name!r}: {_one_line(error)}") from None


def _one_line(error: Exception) -> str:
    return " ".join(str(error).split()) or type(error).__name__


def _exchange(data: Mapping[str, object], name: str, folder: Path | None) -> Exchange:
    _only(data, ("title", "sentence", "field"), "key")
    specs = data.get("field")
    if not isinstance(specs, list) or not 1 <= len(specs) <= MAX_FIELDS:
        raise ValueError(f"it needs 1 to {MAX_FIELDS} [[field]] tables")
    fields = tuple(_spec(spec, folder) for spec in specs)
    twice = {spec.name for spec in fields if [other.name for other in fields].count(spec.name) > 1}
    if twice:
        raise ValueError(f"field name {min(twice)!r} comes twice")
    return Exchange(
        name=name, title=_text(data, "title"), sentence=_text(data, "sentence"), fields=fields
    )


def _spec(spec: object, folder: Path | None) -> FieldSpec:
    if not isinstance(spec, dict):
        raise ValueError("every [[field]] must be a table")
    name, kind = _text(spec, "name"), _text(spec, "kind")
    if not _FIELD_NAME.fullmatch(name):
        raise ValueError(f"field name {name[:40]!r} is not lower-case letters, digits and -")
    if kind not in KINDS:
        raise ValueError(f"field {name}: unknown kind {kind[:40]!r}; known are {', '.join(KINDS)}")
    if (name == "call") != (kind == "call"):
        raise ValueError(f"field {name}: the name 'call' is for the kind 'call', and for it only")
    options = {key: value for key, value in spec.items() if key not in ("name", "kind")}
    try:
        return FieldSpec(name=name, kind=kind, options=KINDS[kind].check(options, folder))
    except ValueError as error:
        raise ValueError(f"field {name}: {error}") from None


def _only(data: Mapping[str, object], known: tuple[str, ...], what: str) -> None:
    for key in data:
        if key not in known:
            raise ValueError(f"unknown {what} {key[:40]!r}; known are {', '.join(known)}")


def _text(data: Mapping[str, object], key: str) -> str:
    value = data.get(key)
    if not isinstance(value, str) or not value.strip() or len(value) > 200:
        raise ValueError(f"{key} is missing or is not a text of 1 to 200 characters")
    return " ".join(value.split())


def names(folder: Path | None = None) -> tuple[str, ...]:
    """Return the names of all exchanges: the shipped ones, then the user's own from folder."""
    own = sorted(path.stem for path in folder.glob("*.toml")) if folder else []
    return (*SHIPPED, *(name for name in own if name not in SHIPPED and _NAME.fullmatch(name)))


def load(name: str, folder: Path | None = None) -> Exchange:
    """Return an exchange by name; a file NAME.toml in folder wins over the shipped one.

    Raises: ExchangeError where there is none or it is faulty.
    """
    own = folder / f"{name}.toml" if folder and _NAME.fullmatch(name) else None
    if own and own.is_file():
        try:
            return parse(own.read_text(encoding="utf-8"), name, folder)
        except (OSError, UnicodeDecodeError) as error:
            raise ExchangeError(f"exchange {name!r} cannot be read: {_one_line(error)}") from None
    if name not in SHIPPED:
        known = ", ".join(names(folder))
        raise ExchangeError(f"exchange {name!r} is unknown; use one of {known}")
    shipped = files("phonetics").joinpath("exchanges", f"{name}.toml")
    return parse(shipped.read_text(encoding="utf-8"), name, folder)
