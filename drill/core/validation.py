"""Checks of data from TOML, JSON, HTTP requests and the command line.

Every check returns the checked value or raises UserError: one line that names the value and what is
allowed, with `field` (the value's name in the data, dotted where nested) and `kind` ("missing",
"not_unicode", "out_of_range", "too_long", "unknown" or "wrong_type"; see drill.core.errors).

drill.core.structuring builds whole dataclasses from plain data with these checks.
"""

import json
import math
from collections.abc import Callable, Collection, Iterable, Mapping
from datetime import date, time
from typing import Any

from drill.core.errors import UserError
from drill.core.unicode_text import has_surrogates

Check = Callable[[str, Any], Any]
"""Type of a check: takes the field's name and a value; returns the value to use or raises
UserError."""

MAX_SHOWN = 60
"""A message repeats at most this many characters of a wrong value."""


# --- single values


def checked_number(field: str, value: Any, *, label: str = "") -> float:
    """Return a finite number as float; true and false do not count as numbers.

    label: name of the value in the message, by default the field. Raises: UserError.
    """
    if isinstance(value, int | float) and not isinstance(value, bool):
        try:
            result = float(value)
        except OverflowError:
            result = math.inf
        if math.isfinite(result):
            return result
    raise wrong_type(field, value, "a number", label)


def checked_integer(field: str, value: Any, *, label: str = "") -> int:
    """Return a whole number that fits into 64 bits with its sign; 3.0 does not count as one.

    label: as in checked_number. Raises: UserError.
    """
    if isinstance(value, bool) or not isinstance(value, int) or abs(value) >= 2**63:
        raise wrong_type(field, value, "a whole number", label)
    return value


def checked_flag(field: str, value: Any, *, label: str = "") -> bool:
    """Return true or false. label: as in checked_number. Raises: UserError."""
    if not isinstance(value, bool):
        raise wrong_type(field, value, "true or false", label)
    return value


def checked_text(field: str, value: Any, *, label: str = "", longest: int | None = None) -> str:
    """Return text of valid Unicode and at most `longest` characters, None for any length.

    label: as in checked_number. Raises: UserError.
    """
    if not isinstance(value, str):
        raise wrong_type(field, value, "text", label)
    if has_surrogates(value):
        raise UserError(f"{label or field} is invalid Unicode", field=field, kind="not_unicode")
    if longest is not None and len(value) > longest:
        raise UserError(
            f"{label or field} has {len(value)} characters; give at most {longest}",
            field=field,
            kind="too_long",
        )
    return value


def within(
    field: str, value: Any, low: float, high: float, unit: str = "", *, label: str = ""
) -> float:
    """Return a number from low to high, both included.

    unit: of the numbers, such as "dB". label: as in checked_number.
    Raises: UserError with kind "out_of_range" (also for infinity and NaN) or "wrong_type".
    """
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise wrong_type(field, value, f"a number from {low:g} to {high:g}{_after(unit)}", label)
    if not low <= value <= high:
        raise UserError(
            f"{label or field} {_digits(value)}{_after(unit)} is out of range; "
            f"allowed are {_digits(low)} to {_digits(high)}{_after(unit)}",
            field=field,
            kind="out_of_range",
        )
    return float(value)


def integer_within(
    field: str, value: Any, low: int, high: int, unit: str = "", *, label: str = ""
) -> int:
    """Return a whole number from low to high, both included. As `within` otherwise."""
    within(field, value, low, high, unit, label=label)
    return checked_integer(field, value, label=label)


def one_of(field: str, value: Any, allowed: Collection[str], *, label: str = "") -> str:
    """Return a text that is one of those allowed. label: as in checked_number.

    Raises: UserError with kind "unknown", listing what is allowed.
    """
    if not isinstance(value, str) or value not in allowed:
        raise UserError(
            f"{label or field} {shown(value)} is unknown; choose one of {', '.join(allowed)}",
            field=field,
            kind="unknown",
        )
    return value


def checked_list(
    field: str, value: Any, check: Check = checked_text, *, label: str = "", most: int | None = None
) -> tuple[Any, ...]:
    """Return a list as a tuple, every entry checked; at most `most` entries, None for any number.

    label: as in checked_number. Raises: UserError.
    """
    if not isinstance(value, list | tuple):
        raise wrong_type(field, value, "a list", label)
    if most is not None and len(value) > most:
        raise UserError(
            f"{label or field} has {len(value)} entries; give at most {most}",
            field=field,
            kind="too_long",
        )
    return tuple(check(f"{field}[{index}]", entry) for index, entry in enumerate(value))


# --- tables: TOML tables, JSON objects, forms


def checked_table(field: str, value: Any, *, label: str = "") -> Mapping[str, Any]:
    """Return a mapping: a TOML table, a JSON object or a form.

    label: as in checked_number. Raises: UserError.
    """
    if not isinstance(value, Mapping):
        raise wrong_type(field, value, "a table", label or field or "the data")
    return value


def known_keys(data: Iterable[Any], allowed: Collection[str], where: str = "") -> None:
    """Raise UserError, kind "unknown", for the first key that is not allowed.

    where: dotted name of the table that the keys are in.
    """
    for key in data:
        if key not in allowed:
            raise UserError(
                f"unknown entry {shown(dotted(where, str(key)))}; "
                f"allowed are {', '.join(allowed) or 'none'}",
                field=dotted(where, str(key)),
                kind="unknown",
            )


def required_keys(data: Collection[str], names: Iterable[str], where: str = "") -> None:
    """Raise UserError, kind "missing", for the first name that data lacks."""
    for name in names:
        if name not in data:
            field = dotted(where, name)
            raise UserError(f"{field} is missing", field=field, kind="missing")


def checked_entries(
    data: Any, checks: Mapping[str, Check], *, required: Iterable[str] = (), where: str = ""
) -> dict[str, Any]:
    """Return the checked entries of a form; entries that are null are left out.

    checks: the allowed entries with their checks. where: as in known_keys. Raises: UserError.
    """
    known_keys(checked_table(where, data), checks, where)
    given = {name: value for name, value in data.items() if value is not None}
    required_keys(given, required, where)
    return {name: checks[name](dotted(where, name), value) for name, value in given.items()}


def json_value(source: str | bytes) -> Any:
    """Return the value of a JSON text by RFC 8259, which has no NaN and no infinity.

    Raises: UserError if the text is not JSON or is nested too deeply, if a whole number has more
    than 20 digits, if a number exceeds the range of float, or if text is invalid Unicode (an
    unpaired surrogate).
    """
    try:
        value = json.loads(
            source, parse_constant=_refuse, parse_int=_parse_int, parse_float=_parse_float
        )
    except (ValueError, RecursionError):
        raise UserError("the text is not valid JSON", kind="wrong_type") from None
    if not _is_plain_ascii(source):  # otherwise it cannot contain surrogates
        try:
            json.dumps(value, ensure_ascii=False).encode()
        except UnicodeEncodeError:
            raise UserError("the text contains invalid Unicode", kind="not_unicode") from None
    return value


# --- wording of messages


def shown(value: Any) -> str:
    """Return a value for a message, written as in TOML and JSON and cut to MAX_SHOWN characters."""
    if value is None or isinstance(value, bool):
        words = json.dumps(value)
    else:
        words = value.isoformat() if isinstance(value, date | time) else repr(value)
    return words if len(words) <= MAX_SHOWN else f"{words[: MAX_SHOWN - 3]}..."


def wrong_type(field: str, value: Any, wanted: str, label: str = "") -> UserError:
    """Return the error for a value that is not `wanted`, such as "a number"."""
    return UserError(
        f"{label or field} has to be {wanted}, not {shown(value)}", field=field, kind="wrong_type"
    )


def _digits(value: float) -> str:
    return str(value) if isinstance(value, int) else f"{value:g}"


def _after(unit: str) -> str:
    return f" {unit}" if unit else ""


def dotted(where: str, name: str) -> str:
    """Return the name of an entry within a table: "noise" and "vd_db" give "noise.vd_db".

    A name that is too long for one line of a message is shortened and escaped.
    """
    if not name.isprintable() or len(name) > MAX_SHOWN:
        name = shown(name)
    return f"{where}.{name}" if where and name else where or name


def _is_plain_ascii(source: str | bytes) -> bool:
    """Return True for ASCII without a \\u escape; a NUL is in bytes of UTF-16 or UTF-32."""
    text = source if isinstance(source, str) else source.decode("latin-1")
    return text.isascii() and "\\u" not in text and "\0" not in text


def _refuse(constant: str) -> Any:
    raise ValueError(f"JSON has no {constant}")


def _parse_int(digits: str) -> int:
    if len(digits) > 20:
        raise ValueError("a whole number of more than 64 bits")
    return int(digits)


def _parse_float(digits: str) -> float:
    value = float(digits)
    if not math.isfinite(value):
        raise ValueError("a number beyond the range of float")
    return value
