"""The value of a field's typed text, by the small grammar of what an operator may type.

An entry is the value, optionally after the name of the field ("zone 14", "nr 014") and with a unit
or an ending in full ("100 watts", "portable"). Two entries that mean the same have equal values.

    number    = [label] digits or number words              14   1 4   014   fourteen
    serial    = [number | nr | no | n | serial | #] number  #14   nr014   no. 014
    report    = [report] two digits, R 1 to 5, S 1 to 9     59   5 9
    year      = [year] two digits, or all four              87   1987
    power     = [power] number [unit]                       100   100w   1.5 kW   kilo
    call      = letters, digits, strokes                    E8ABC/P   E8ABC-P   E8ABC portable
    code      = [label] letters and digits                  JO31   area STO

Case, spaces, full-width characters and punctuation at either end do not matter. A letter never
counts as a digit: the letter O is not a zero. Cut numbers (5NN) belong to Morse and are not
accepted. What operators type is common practice, no source.
"""

import re
from decimal import Decimal

from phonetics.numerals import MAX_DIGITS, read_number

_END_PUNCTUATION = " .,:;"
_DASHES = "\u2010\u2011\u2012\u2013\u2014\u2212"
# Unicode: the full-width forms U+FF01 to U+FF5E are ASCII U+0021 to U+007E, in that order.
_TO_PLAIN = str.maketrans(
    {
        **{chr(code): chr(code - 0xFEE0) for code in range(0xFF01, 0xFF5F)},
        **dict.fromkeys(_DASHES, "-"),
    }
)

SERIAL_LABELS = ("number", "serial", "nr", "no", "n", "#")

_UNIT_FACTORS = {
    "KILOWATTS": 1000, "KILOWATT": 1000, "KILO": 1000, "KW": 1000, "K": 1000,
    "WATTS": 1, "WATT": 1, "W": 1,
}  # fmt: skip
_POWER = re.compile(rf"(.*?)\s*({'|'.join(_UNIT_FACTORS)})", re.DOTALL)
_DECIMAL_FRACTION = re.compile(r"[0-9]{1,4}\.[0-9]{1,3}")

# Longer than any suffix, so none of these words can be part of a call.
_STROKE_WORDS = re.compile(r"STROKE|SLASH|-")
_ENDING_WORDS = (("MARITIMEMOBILE", "/MM"), ("PORTABLE", "/P"), ("MOBILE", "/M"))

_NUMBER_OF_YEARS = 100
_FIRST_YEAR_OF_TWO_DIGITS = 1930  # "30" to "99" are 1930 to 1999, "00" to "29" are 2000 to 2029

# Morse abbreviations of the digits 0, 9, 1, 5 and 2: common practice, no source.
_CUT_NUMBER = re.compile("[0-9TNAEU]*[TNAEU][0-9TNAEU]*")


def plain_characters(text: str) -> str:
    """Return the text with full-width characters as ASCII, and every dash as a hyphen."""
    return text.translate(_TO_PLAIN)


def joined(text: str) -> str:
    """Return the text without white space, in upper case."""
    return "".join(text.split()).upper()


def without_label(text: str, labels: tuple[str, ...], *, glued: bool) -> str:
    """Return the text without the name of its field and without punctuation at its ends.

    labels: names in lower case, longer ones first. glued: whether digits may follow the name
    without a space, as in "nr014"; codes need the space, because a code could begin with the same
    letters as the name.
    """
    bare = plain_characters(text).strip().strip(_END_PUNCTUATION)
    for label in labels:
        if bare.lower().startswith(label):
            rest = bare[len(label) :]
            separated = bool(rest) and (rest[0].isspace() or rest[0] in ".:")
            value = rest.lstrip().lstrip(_END_PUNCTUATION)
            if value and (separated or (glued and value[0] in "0123456789")):
                return value
    return bare


def code_value(text: str, label: str = "") -> str | None:
    """Return letters and digits without spaces, in upper case; None if nothing is left."""
    return joined(without_label(text, (label,) if label else (), glued=False)) or None


def callsign_value(text: str) -> str | None:
    """Return a call in upper case, with "/" for every spelling of a stroke; None if text is empty.

    A hyphen, "stroke" and "slash" mean a stroke; "portable", "mobile" and "maritime mobile" at the
    end mean /P, /M and /MM.
    """
    call = _STROKE_WORDS.sub("/", joined(without_label(text, (), glued=False)))
    for word, ending in _ENDING_WORDS:
        if call.endswith(word):
            return call.removesuffix(word).removesuffix("/") + ending
    return call or None


def number_value(text: str, labels: tuple[str, ...] = ()) -> int | None:
    """Return the value of typed digits, with or without spaces, or of number words, else None."""
    bare = without_label(text, labels, glued=True)
    digits = joined(bare)
    if digits.isascii() and digits.isdigit() and len(digits) <= MAX_DIGITS:
        return int(digits)
    return read_number(bare)


def report_value(text: str) -> int | None:
    """Return a report RS (R 1 to 5, S 1 to 9) as a number, None if it is not one."""
    value = number_value(text, ("report",))
    is_report = value is not None and 1 <= value // 10 <= 5 and 1 <= value % 10 <= 9
    return value if is_report else None


def year_value(text: str) -> int | None:
    """Return a year from two or four digits, None for other text.

    Two digits mean 1930 to 2029, so that 87 and 1987 are equal and 2087 is another year.
    """
    value = number_value(text, ("year",))
    if value is None or value >= _NUMBER_OF_YEARS:
        return value if value is not None and 1900 <= value <= 2099 else None
    offset = (value - _FIRST_YEAR_OF_TWO_DIGITS) % _NUMBER_OF_YEARS
    return _FIRST_YEAR_OF_TWO_DIGITS + offset


def watts_value(text: str) -> int | None:
    """Return a power in whole watts, with or without a unit, else None.

    Units are W, watt, K, KW, kilo and kilowatt; a kilo unit alone is 1000 W. Only a number of
    kilowatts may have a decimal point.
    """
    bare = without_label(text, ("power",), glued=True).upper()
    with_unit = _POWER.fullmatch(bare)
    if with_unit is None:
        return number_value(bare)
    amount, factor = with_unit[1], _UNIT_FACTORS[with_unit[2]]
    if not amount:
        return factor if factor > 1 else None
    if factor > 1 and _DECIMAL_FRACTION.fullmatch(amount):
        watts = Decimal(amount) * factor
        return int(watts) if watts == int(watts) else None
    if factor > 1 and re.search(r"[0-9]\s+[0-9]", amount):
        return None  # "1 5 kW" may have been meant as 1.5 kW
    value = number_value(amount)
    return None if value is None else value * factor


def is_cut_number(text: str) -> bool:
    """Return whether the text is digits of which some are Morse abbreviations, such as 5NN."""
    return _CUT_NUMBER.fullmatch(text) is not None
