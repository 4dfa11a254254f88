"""Typed text of a field as a value, so that "07", "7" and "0 7" are equal.

Letters and digits are never taken for each other: a letter O is not a zero.
"""

from phonetics.numerals import MAX_DIGITS, read_number


def letters_and_digits(text: str) -> str | None:
    """Return the text without spaces, in upper case; None if nothing is left."""
    return "".join(text.split()).upper() or None


def number_value(text: str) -> int | None:
    """Return the value of typed digits, with or without spaces, or of number words, else None."""
    joined = "".join(text.split())
    if joined.isascii() and joined.isdigit() and len(joined) <= MAX_DIGITS:
        return int(joined)
    return read_number(text)


def report_value(text: str) -> int | None:
    """Return a report RS (R 1 to 5, S 1 to 9) as a number, None if it is not one."""
    value = number_value(text)
    is_report = value is not None and 1 <= value // 10 <= 5 and 1 <= value % 10 <= 9
    return value if is_report else None


def watts_value(text: str) -> int | None:
    """Return a power in watts from "100", "100W", "1KW", "1K", "K" or "kilowatt", else None."""
    joined = "".join(text.split()).upper()
    for unit, factor in (("KILOWATT", 1000), ("KW", 1000), ("K", 1000), ("WATTS", 1), ("W", 1)):
        if joined.endswith(unit):
            if joined == unit:
                return factor if factor > 1 else None
            value = number_value(joined[: -len(unit)])
            return None if value is None else value * factor
    return number_value(text)
