"""Checks of a field kind's options: each returns the reason to reject a value, "" if it is
valid."""

from collections.abc import Callable
from datetime import date, time
from string import ascii_uppercase
from typing import Any

from phonetics.word_lists import area_set_names

OptionCheck = Callable[[Any], str]

LONGEST_LIST = 10_000


def whole_number(low: int, high: int) -> OptionCheck:
    """Return a check that accepts whole numbers from low to high."""

    def check(value: Any) -> str:
        accepted = type(value) is int and low <= value <= high
        return (
            "" if accepted else f"{shown_value(value)} is not a whole number from {low} to {high}"
        )

    return check


def check_share(value: Any) -> str:
    """Accept a number from 0 to 1."""
    accepted = type(value) in (int, float) and 0 <= value <= 1
    return "" if accepted else f"{shown_value(value)} is not a share from 0 to 1"


def check_letters(value: Any) -> str:
    """Accept a string of capital letters."""
    accepted = isinstance(value, str) and value and set(value) <= set(ascii_uppercase)
    return "" if accepted else f"{shown_value(value)} is not a string of capital letters"


def check_area_set(value: Any) -> str:
    """Accept the name of an area set."""
    allowed = area_set_names()
    return "" if value in allowed else f"{shown_value(value)} is unknown; use {', '.join(allowed)}"


def check_codes(value: Any) -> str:
    """Accept a list of codes of 1 to 8 letters and digits."""
    return _check_list(value, "codes of 1 to 8 letters and digits", _is_code)


def check_words(value: Any) -> str:
    """Accept a list of words of 1 to 15 letters."""
    return _check_list(value, "words of 1 to 15 letters", _is_word)


def check_watts(value: Any) -> str:
    """Accept a list of whole numbers of watts from 1 to 100,000."""
    return _check_list(value, "watts from 1 to 100000", _is_watts)


def _check_list(value: Any, content: str, accepts: Callable[[Any], bool]) -> str:
    accepted = (
        isinstance(value, list) and 0 < len(value) <= LONGEST_LIST and all(map(accepts, value))
    )
    return "" if accepted else f"{shown_value(value)} is not a list of {content}"


def _is_code(value: Any) -> bool:
    return isinstance(value, str) and value.isascii() and value.isalnum() and len(value) <= 8


def _is_word(value: Any) -> bool:
    return isinstance(value, str) and value.isascii() and value.isalpha() and len(value) <= 15


def _is_watts(value: Any) -> bool:
    return type(value) is int and 1 <= value <= 100_000


def shown_value(value: Any) -> str:
    """Return a value from a TOML file for a message, as written there, at most 40 characters."""
    if isinstance(value, bool):
        text = str(value).lower()
    else:
        text = value.isoformat() if isinstance(value, date | time) else repr(value)
    return text if len(text) <= 40 else text[:37] + "..."
