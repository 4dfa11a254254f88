"""Named conditions and parts of them, read from data: what ships, and the user's own.

A preset is a TOML file: `says` (what one hears, in a sentence), `source`, and the parts of
drill.core.conditions.Conditions; what is left out is as by default. `fading` and `receiver` may be a
name (parts/fading.toml, parts/receivers.toml) instead of a table. A file in the user's folder adds
a preset, or replaces one that ships.
"""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files
from pathlib import Path
from typing import Any

from drill.core.conditions import Conditions, Fading, Receiver, part_from_dict
from drill.core.errors import UserError

PLAIN = "plain"


@dataclass(frozen=True, kw_only=True, slots=True)
class Preset:
    """A preset: its conditions, what one hears in a sentence, and where its figures come from."""

    conditions: Conditions
    says: str
    source: str


@lru_cache(maxsize=2)
def _parts(kind: str) -> dict[str, dict[str, Any]]:
    text = files("drill.radio").joinpath(f"parts/{kind}.toml").read_text("utf-8")
    return tomllib.loads(text)


def _part(kind: str, what: str, name: str) -> dict[str, Any]:
    """Return the values of a named part. Raises: UserError with the names there are."""
    try:
        row = _parts(kind)[name]
    except KeyError:
        raise UserError(
            f"there is no {what} preset {name!r}; choose one of {', '.join(_parts(kind))}"
        ) from None
    return {key: value for key, value in row.items() if key not in ("says", "source")}


def fading_names() -> tuple[str, ...]:
    """Return the names of the fading presets, calm first."""
    return tuple(_parts("fading"))


def receiver_names() -> tuple[str, ...]:
    """Return the names of the receiver presets, the usual first."""
    return tuple(_parts("receivers"))


def sentence(name: str) -> str:
    """Return what one hears with a fading or receiver preset, in a sentence."""
    row = _parts("fading").get(name) or _parts("receivers")[name]
    return str(row["says"])


def fading(text: str) -> Fading:
    """Return a fading by its name, or by delay in ms and Doppler spread in Hz, as in "1.5/0.7".

    Raises: UserError.
    """
    if "/" in text:
        delay_ms, spread_hz = _numbers(text, "/", "fading", "1.5/0.7 (delay in ms / spread in Hz)")
        return Fading(
            name=f"{delay_ms:g} ms, {spread_hz:g} Hz", delay_ms=delay_ms, spread_hz=spread_hz
        )
    return part_from_dict(Fading, {"name": text, **_part("fading", "fading", text)})


def receiver(text: str) -> Receiver:
    """Return a receiver by its name, or by width and shift of its filter in Hz, as in "1800+200".

    Raises: UserError.
    """
    if text[:1].isdigit():
        sign = "-" if "-" in text else "+"
        whole = text if sign in text else f"{text}+0"
        width_hz, shift_hz = _numbers(whole, sign, "filter", "1800+200 (width and shift in Hz)")
        return Receiver(width_hz=width_hz, shift_hz=shift_hz if sign == "+" else -shift_hz)
    return part_from_dict(Receiver, _part("receivers", "receiver", text))


def _numbers(text: str, mark: str, what: str, example: str) -> tuple[float, float]:
    first, _, second = text.partition(mark)
    try:
        return float(first), float(second)
    except ValueError:
        raise UserError(f"{what} {text!r} cannot be read; give a name, or {example}") from None


def names(own: Path | None = None) -> tuple[str, ...]:
    """Return the names of the presets, plain first; own: the user's folder."""
    shipped = files("drill.radio").joinpath("conditions").iterdir()
    found = {entry.name.removesuffix(".toml") for entry in shipped if entry.name.endswith(".toml")}
    if own is not None and own.is_dir():
        found |= {path.stem for path in own.glob("*.toml")}
    return tuple(sorted(found, key=lambda name: (name != PLAIN, name)))


def preset(name: str, own: Path | None = None) -> Preset:
    """Return a preset by its name. Raises: UserError naming what is wrong and what is allowed."""
    if name not in names(own):
        raise UserError(f"there are no conditions {name!r}; choose one of {', '.join(names(own))}")
    mine = own / f"{name}.toml" if own is not None else None
    where = str(mine) if mine is not None and mine.exists() else f"preset {name}"
    try:
        if mine is not None and mine.exists():
            text = mine.read_text("utf-8")
        else:
            text = files("drill.radio").joinpath(f"conditions/{name}.toml").read_text("utf-8")
        return parse(name, tomllib.loads(text))
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError, UserError) as error:
        raise UserError(f"{where}: {error}") from None


def parse(name: str, data: Mapping[str, Any]) -> Preset:
    """Return the preset of a file's data. Raises: UserError."""
    values = dict(data)
    says, source = values.pop("says", None), values.pop("source", "not given")
    if not (isinstance(says, str) and says and isinstance(source, str)):
        raise UserError("says is missing: what one hears, in a sentence")
    values["name"] = name
    if isinstance(values.get("fading"), str):
        values["fading"] = _fading_data(values["fading"])
    if isinstance(values.get("receiver"), str):
        values["receiver"] = _part("receivers", "receiver", values["receiver"])
    neighbours = values.get("neighbours")
    if isinstance(neighbours, list):
        values["neighbours"] = [
            {**entry, "fading": _fading_data(entry["fading"])}
            if isinstance(entry, dict) and isinstance(entry.get("fading"), str)
            else entry
            for entry in neighbours
        ]
    return Preset(conditions=Conditions.from_dict(values), says=says, source=source)


def _fading_data(text: str) -> dict[str, Any]:
    made = fading(text)
    return {"name": made.name, "delay_ms": made.delay_ms, "spread_hz": made.spread_hz}
