"""Numbers: from written digits to spoken words, and from words to the value.

A number is written in ASCII digits. Each word carries the digits that it represents; joined, they
are the written number, without its leading zeros if the over style drops them. "double" carries no
digits: the next word carries both. "hundred" and "thousand" carry their zeros if no other words
follow.

Sources: figure words and respellings from ITU Radio Regulations Appendix 14 and ICAO Annex 10
Volume II, 5.2.1.4.3.1; the other ways of saying a number are common practice, no source.
"""

from collections.abc import Iterable, Sequence

from phonetics.message import Word
from phonetics.over_style import OverStyle

DIGIT_WORDS = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
TEENS = (
    "ten", "eleven", "twelve", "thirteen", "fourteen", "fifteen", "sixteen", "seventeen",
    "eighteen", "nineteen",
)  # fmt: skip
TENS = ("", "", "twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety")

ITU_FIGURES: dict[str, str] = {
    "0": "Nadazero", "1": "Unaone", "2": "Bissotwo", "3": "Terrathree", "4": "Kartefour",
    "5": "Pantafive", "6": "Soxisix", "7": "Setteseven", "8": "Oktoeight", "9": "Novenine",
}  # fmt: skip

ICAO_FIGURES: dict[str, str] = {
    "0": "ZE-RO", "1": "WUN", "2": "TOO", "3": "TREE", "4": "FOW-er",
    "5": "FIFE", "6": "SIX", "7": "SEV-en", "8": "AIT", "9": "NIN-er",
}  # fmt: skip

# The ICAO respellings that a voice has to pronounce differently from the plain words.
_ICAO_SAY = {"3": "tree", "4": "fower", "5": "fife", "9": "niner"}

_TO_DIGIT: dict[str, str] = {
    "oh": "0", "nought": "0", "wun": "1",
    **{word: str(value) for value, word in enumerate(DIGIT_WORDS)},
    **{word: digit for digit, word in _ICAO_SAY.items()},
    **{word.lower(): digit for digit, word in ITU_FIGURES.items()},
}  # fmt: skip
_TO_TEEN = {word: str(10 + value) for value, word in enumerate(TEENS)}
_TO_TENS = {word: str(value) for value, word in enumerate(TENS) if word}
_TIMES = {"double": 2, "triple": 3}
_SCALES = {"hundred": 2, "thousand": 3}
_LEADERS = frozenset({"number", "nr", "no"})

MAX_DIGITS = 12  # longer than any number that stations exchange


def number_vocabulary() -> frozenset[str]:
    """Return every word that say_number and digit_word can produce."""
    tens = {f"{ten}-{unit}" for ten in TENS[2:] for unit in DIGIT_WORDS[1:]}
    plain = {*DIGIT_WORDS, "oh", *TEENS, *TENS[2:], "hundred", "thousand", "double"}
    return frozenset(
        plain | tens | set(_ICAO_SAY.values()) | {word.lower() for word in ITU_FIGURES.values()}
    )


def digit_word(digit: str, over_style: OverStyle) -> str:
    """Return the word for one digit "0" to "9".

    Raises: ValueError if digit is anything else.
    """
    if len(digit) != 1 or digit not in "0123456789":
        raise ValueError(f"{digit!r} is not one digit")
    if over_style.figures == "itu":
        return ITU_FIGURES[digit].lower()
    if digit == "0":
        return over_style.zero
    if over_style.figures == "icao":
        return _ICAO_SAY.get(digit, DIGIT_WORDS[int(digit)])
    return DIGIT_WORDS[int(digit)]


def say_number(text: str, over_style: OverStyle, *, field: str = "") -> tuple[Word, ...]:
    """Return the words for a number written in 1 to 12 digits; each word carries its digits.

    Raises: ValueError if text is not such a number.
    """
    if not (text.isascii() and text.isdigit() and len(text) <= MAX_DIGITS):
        raise ValueError(f"{text!r} is not a number of 1 to {MAX_DIGITS} digits")
    digits = (text.lstrip("0") or "0") if over_style.drop_zeros else text
    if over_style.pairs and 2 <= len(digits) <= 6:
        spoken = _in_pairs(digits, over_style)
    elif over_style.doubles:
        spoken = _with_doubles(digits, over_style)
    else:
        spoken = [(digit_word(digit, over_style), digit) for digit in digits]
    return tuple(Word(say=say, means=means, field=field) for say, means in spoken)


def _in_pairs(digits: str, over_style: OverStyle) -> list[tuple[str, str]]:
    """Return (word, digits) pairs, the digits grouped in twos from the right."""
    if len(digits) == 4 and digits[0] != "0" and digits.endswith("000"):
        return [(digit_word(digits[0], over_style), digits[0]), ("thousand", "000")]
    if len(digits) in (3, 4) and digits[0] != "0" and digits.endswith("00"):
        return [*_in_pairs(digits[:-2], over_style), ("hundred", "00")]
    odd = len(digits) % 2
    groups = [digits[:1]] * odd + [digits[i : i + 2] for i in range(odd, len(digits), 2)]
    spoken: list[tuple[str, str]] = []
    for group in groups:
        if len(group) == 1 or group[0] == "0":
            spoken += [(digit_word(digit, over_style), digit) for digit in group]
        elif group[0] == "1":
            spoken.append((TEENS[int(group[1])], group))
        else:
            unit = "" if group[1] == "0" else f"-{DIGIT_WORDS[int(group[1])]}"
            spoken.append((TENS[int(group[0])] + unit, group))
    return spoken


def _with_doubles(digits: str, over_style: OverStyle) -> list[tuple[str, str]]:
    """Return (word, digits) pairs digit by digit; two equal digits become "double" and one word."""
    spoken: list[tuple[str, str]] = []
    position = 0
    while position < len(digits):
        group = digits[position : position + 2]
        if len(group) == 2 and group[0] == group[1]:
            spoken += [("double", ""), (digit_word(group[0], over_style), group)]
        else:
            group = digits[position]
            spoken.append((digit_word(group, over_style), group))
        position += len(group)
    return spoken


def read_number(text_or_words: str | Iterable[str]) -> int | None:
    """Return the value of a number typed in digits or words, None if it is not a number.

    Accepts '07', '0 7', 'oh seven', 'twenty six', 'one twenty-six', 'double five', 'number eight',
    'niner', 'twelve hundred'. The letter O never counts as zero. Case does not matter.
    """
    text = text_or_words if isinstance(text_or_words, str) else " ".join(text_or_words)
    if not text.isascii():
        return None
    tokens = text.lower().replace("-", " ").split()
    if tokens and tokens[0] in _LEADERS:
        tokens = tokens[1:]
    digits = _digits_of(tokens)
    return int(digits) if digits and len(digits) <= MAX_DIGITS else None


def _digits_of(tokens: Sequence[str]) -> str:
    """Return the digits that the tokens represent, "" if any token represents none."""
    for scale in ("thousand", "hundred"):
        if scale in tokens:
            return _scaled(tokens, tokens.index(scale), _SCALES[scale])
    digits = ""
    position = 0
    while position < len(tokens):
        value, used = _first_digits(tokens[position : position + 2])
        if not value:
            return ""
        digits += value
        position += used
    return digits


def _scaled(tokens: Sequence[str], index: int, zeros: int) -> str:
    """Return the digits of '... hundred ...'; index: position of the scale word."""
    before, after = tokens[:index], tokens[index + 1 :]
    if after and after[0] == "and":
        after = after[1:]
        if not after:
            return ""
    head = _digits_of(before) if before and before != ["a"] else "1"
    tail = _digits_of(after) if after else "0"
    if not head or not tail or len(tail.lstrip("0")) > zeros:
        return ""
    return head + tail.lstrip("0").rjust(zeros, "0")


def _first_digits(tokens: Sequence[str]) -> tuple[str, int]:
    """Return the digits of the first one or two tokens, and how many tokens they are."""
    first = tokens[0]
    second = tokens[1] if len(tokens) > 1 else ""
    following = _TO_DIGIT.get(second, second if len(second) == 1 and second.isdigit() else "")
    if first.isdigit():
        return first, 1
    if first in _TO_DIGIT:
        return _TO_DIGIT[first], 1
    if first in _TO_TEEN:
        return _TO_TEEN[first], 1
    if first in _TO_TENS:
        unit = following if following and following != "0" else ""
        return _TO_TENS[first] + (unit or "0"), 2 if unit else 1
    if first in _TIMES and following:
        return following * _TIMES[first], 2
    return "", 1
