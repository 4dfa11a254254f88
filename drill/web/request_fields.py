"""What a request's JSON may hold: every entry named, of its kind, in its range; nothing else."""

import json
import math
from collections.abc import Callable, Mapping
from typing import Any

from drill.core.errors import UserError
from drill.session.options import Choices

MOST_TEXT = 500
MOST_NAMES = 100

Reader = Callable[[str, Any], Any]


def read(body: bytes) -> dict[str, Any]:
    """Return a body's JSON object. Raises: UserError where it is none."""
    try:
        found = json.loads(body, parse_constant=_constant, parse_int=_whole, parse_float=_float)
    except (ValueError, RecursionError):
        raise UserError("what was sent is no JSON") from None
    if not isinstance(found, dict):
        raise UserError("what was sent is no JSON object")
    try:
        json.dumps(found, ensure_ascii=False).encode()
    except UnicodeEncodeError:  # JSON can hold half of a character, nothing behind it can
        raise UserError("what was sent holds half of a character") from None
    return found


def _constant(name: str) -> Any:
    raise ValueError(f"{name} is no number of JSON")


def _whole(text: str) -> int:
    if len(text) > 20:
        raise ValueError("a whole number of more than 64 bits")
    return int(text)


def _float(text: str) -> float:
    found = float(text)
    if not math.isfinite(found):
        raise ValueError("a number out of range")
    return found


def take(data: Mapping[str, Any], known: Mapping[str, Reader]) -> dict[str, Any]:
    """Return the entries that are there and not null, read; Raises: UserError naming the entry."""
    for name in data:
        if name not in known:
            raise UserError(f"{short(name)} is unknown; known are {', '.join(known)}")
    return {name: known[name](name, value) for name, value in data.items() if value is not None}


def needed(found: Mapping[str, Any], *names: str) -> None:
    """Raise UserError where one of these entries is missing."""
    for name in names:
        if name not in found:
            raise UserError(f"{name} is missing")


def short(value: Any) -> str:
    """Return a value as it may stand in a message."""
    words = json.dumps(value) if not isinstance(value, str) else repr(value)
    return words if len(words) <= 60 else f"{words[:57]}..."


def text(name: str, value: Any) -> str:
    """Return a string of bearable length."""
    if not isinstance(value, str):
        raise UserError(f"{name} {short(value)} is no text")
    if len(value) > MOST_TEXT:
        raise UserError(f"{name} has {len(value)} characters; at most {MOST_TEXT} are taken")
    return value


def number(name: str, value: Any) -> float:
    """Return a finite number."""
    try:
        if not isinstance(value, bool) and isinstance(value, int | float):
            found = float(value)
            if math.isfinite(found):
                return found
    except OverflowError:
        pass
    raise UserError(f"{name} {short(value)} is no number")


def whole(name: str, value: Any) -> int:
    """Return a whole number of at most 63 bits."""
    if isinstance(value, float) and value.is_integer():
        value = int(value)
    if isinstance(value, bool) or not isinstance(value, int) or abs(value) >= 2**63:
        raise UserError(f"{name} {short(value)} is no whole number")
    return value


def truth(name: str, value: Any) -> bool:
    """Return true or false."""
    if not isinstance(value, bool):
        raise UserError(f"{name} {short(value)} is neither true nor false")
    return value


def names(name: str, value: Any) -> tuple[str, ...]:
    """Return a list of texts."""
    if not isinstance(value, list) or len(value) > MOST_NAMES:
        raise UserError(f"{name} {short(value)} is no list of at most {MOST_NAMES} names")
    return tuple(text(name, one) for one in value)


def table(name: str, value: Any) -> dict[str, Any]:
    """Return a JSON object."""
    if not isinstance(value, dict):
        raise UserError(f"{name} {short(value)} is no JSON object")
    return value


CHOICES: Mapping[str, Reader] = {
    "part": text,
    "exchange": text,
    "mix": text,
    "alternates": number,
    "count": whole,
    "seed": whole,
    "conditions": text,
    "snr_db": number,
    "watts": number,
    "path_snr_db": number,
    "fading": text,
    "filter": text,
    "processing": text,
    "off_frequency_hz": number,
    "static_db": number,
    "pace": number,
    "voices": names,
}
"""The entries of a form; those of drill.session.options.Choices, and null for snr_db is no noise."""


def choices(data: Mapping[str, Any], *, fixed: bool = True) -> Choices:
    """Return the choices of a form; fixed: where a null for snr_db means no noise.

    Raises: UserError.
    """
    clean = "snr_db" in data and data["snr_db"] is None and data.get("watts") is None
    return Choices(**take(data, CHOICES), no_noise=clean and fixed)
