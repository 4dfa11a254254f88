"""Named conditions, and named fading and receiver settings: the bundled ones and the user's own.

A conditions preset is a TOML file with `says` (one sentence about what the trainee hears),
`source`, and the parts of drill.core.conditions.Conditions; a part that is missing has its default.
`fading` and `receiver` are tables or names (parts/fading.toml, parts/receivers.toml). A file in the
user's folder adds a preset, or replaces a shipped one of the same name.
"""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files
from pathlib import Path
from typing import Any

from drill.core.conditions import Conditions, Fading, Receiver
from drill.core.errors import UserError
from drill.core.structuring import from_data
from drill.core.validation import one_of

PLAIN_PRESET = "plain"


@dataclass(frozen=True, kw_only=True, slots=True)
class Preset:
    """Named conditions.

    description: one sentence about what the trainee hears. source: where the figures come from.
    """

    conditions: Conditions
    description: str
    source: str


@lru_cache(maxsize=2)
def _parts(file: str) -> dict[str, dict[str, Any]]:
    text = files("drill.radio").joinpath(f"parts/{file}.toml").read_text("utf-8")
    return tomllib.loads(text)


def _part_values(file: str, kind: str, name: str, field: str) -> dict[str, Any]:
    """Return the values of a named part. Raises: UserError listing the names."""
    row = _parts(file)[one_of(field, name, _parts(file), label=f"{kind} preset")]
    return {key: value for key, value in row.items() if key not in ("says", "source")}


def fading_names() -> tuple[str, ...]:
    """Return the names of the fading presets, the steady path first."""
    return tuple(_parts("fading"))


def receiver_names() -> tuple[str, ...]:
    """Return the names of the receiver presets, the usual one first."""
    return tuple(_parts("receivers"))


def part_description(name: str) -> str:
    """Return one sentence about what the trainee hears with a fading or receiver preset."""
    row = _parts("fading").get(name) or _parts("receivers")[name]
    return str(row["says"])


def parse_fading(text: str) -> Fading:
    """Return a fading preset by name, or from delay in ms and Doppler spread in Hz ("1.5/0.7").

    Raises: UserError with field "fading".
    """
    if "/" in text:
        delay_ms, spread_hz = _two_numbers(
            text, "/", "fading", "delay in ms and Doppler spread in Hz, such as 1.5/0.7"
        )
        return Fading(
            name=f"{delay_ms:g} ms, {spread_hz:g} Hz", delay_ms=delay_ms, spread_hz=spread_hz
        )
    return from_data(Fading, {"name": text, **_part_values("fading", "fading", text, "fading")})


def parse_receiver(text: str) -> Receiver:
    """Return a receiver preset by name, or from width and shift of its filter in Hz ("1800+200").

    Raises: UserError with field "filter".
    """
    if text[:1].isdigit():
        sign = "-" if "-" in text else "+"
        width_hz, shift_hz = _two_numbers(
            text, sign, "filter", "width and shift in Hz, such as 1800+200"
        )
        return Receiver(width_hz=width_hz, shift_hz=shift_hz if sign == "+" else -shift_hz)
    return from_data(Receiver, _part_values("receivers", "receiver", text, "filter"))


def _two_numbers(text: str, separator: str, field: str, form: str) -> tuple[float, float]:
    """Return the numbers before and after a separator; without one, the second is 0."""
    first, present, second = text.partition(separator)
    try:
        return float(first), float(second) if present else 0.0
    except ValueError:
        raise UserError(
            f"{field} {text!r} is not valid; give a name, or {form}", field=field, kind="wrong_type"
        ) from None


def preset_names(user_folder: Path | None = None) -> tuple[str, ...]:
    """Return the names of all conditions presets, "plain" first. user_folder: the user's own."""
    shipped = files("drill.radio").joinpath("conditions").iterdir()
    names = {entry.name.removesuffix(".toml") for entry in shipped if entry.name.endswith(".toml")}
    if user_folder is not None and user_folder.is_dir():
        names |= {path.stem for path in user_folder.glob("*.toml")}
    return tuple(sorted(names, key=lambda name: (name != PLAIN_PRESET, name)))


def load_preset(name: str, user_folder: Path | None = None) -> Preset:
    """Return a conditions preset by name; a file in user_folder takes precedence.

    Raises: UserError if there is no such preset or its file is wrong; the message names the file.
    """
    one_of("conditions", name, preset_names(user_folder), label="conditions preset")
    user_file = user_folder / f"{name}.toml" if user_folder is not None else None
    if user_file is not None and not user_file.exists():
        user_file = None
    place = f"preset {name}" if user_file is None else str(user_file)
    try:
        if user_file is not None:
            text = user_file.read_text("utf-8-sig")
        else:
            text = files("drill.radio").joinpath(f"conditions/{name}.toml").read_text("utf-8")
        return preset_from_data(name, tomllib.loads(text))
    except (OSError, ValueError, RecursionError, UserError) as error:  # not UTF-8, or not TOML
        raise UserError(f"{place}: {error}", field="conditions") from None


def preset_from_data(name: str, data: Mapping[str, Any]) -> Preset:
    """Return the preset that a file's data describes.

    Raises: UserError with the field of the wrong entry.
    """
    values = dict(data)
    description, source = values.pop("says", None), values.pop("source", "not given")
    if not (isinstance(description, str) and description and isinstance(source, str)):
        raise UserError(
            "says is missing; add one sentence about what the trainee hears",
            field="says",
            kind="missing",
        )
    values["name"] = name
    if isinstance(values.get("fading"), str):
        values["fading"] = _fading_values(values["fading"])
    if isinstance(values.get("receiver"), str):
        values["receiver"] = _part_values("receivers", "receiver", values["receiver"], "receiver")
    neighbours = values.get("neighbours")
    if isinstance(neighbours, list):
        values["neighbours"] = [
            {**entry, "fading": _fading_values(entry["fading"])}
            if isinstance(entry, dict) and isinstance(entry.get("fading"), str)
            else entry
            for entry in neighbours
        ]
    conditions = from_data(Conditions, values)
    return Preset(conditions=conditions, description=description, source=source)


def _fading_values(text: str) -> dict[str, Any]:
    fading = parse_fading(text)
    return {"name": fading.name, "delay_ms": fading.delay_ms, "spread_hz": fading.spread_hz}
