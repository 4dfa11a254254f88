"""The kinds of field that an exchange is made of: how each is composed, said, read and checked.

Conventions: a field's text is what one writes in a log, upper case. value gives what counts as
equal: "07", "7" and "0 7" are one zone; letters and digits are never taken for each other. Kinds
whose names are those of the trade (report RS, serial number, zone, locator) are common practice, no
source, but for the report: the readability and strength scale, R 1 to 5, S 1 to 9.
"""

from collections.abc import Callable, Hashable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files
from random import Random
from string import ascii_uppercase
from typing import Any

from phonetics.alphabets import spell
from phonetics.callsigns import Callsign, parse
from phonetics.manners import Manner
from phonetics.message import Word
from phonetics.numerals import MAX_DIGITS, read_number, say_number

Options = Mapping[str, Any]


class OptionError(ValueError):
    """An option of a field that its kind does not take: the message names value and allowed."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Kind:
    """One kind of field.

    compose: (rng, call, options, progress) to text. say: (text, manner, rng, field) to words.
    value: from typed text to what has to be equal, None where it is no such value. options: name
    of each option to its check, which returns why a value is refused, "" where it is not.
    label: what is said before it by those who say what comes.
    """

    compose: Callable[[Random, Callsign, Options, int], str]
    say: Callable[[str, Manner, Random, str], tuple[Word, ...]]
    value: Callable[[str], Hashable | None]
    options: Mapping[str, Callable[[Any], str]]
    label: str = ""

    def check(self, options: Options) -> None:
        """Raise OptionError where an option is unknown or its value refused."""
        for name, given in options.items():
            if name not in self.options:
                allowed = ", ".join(self.options) or "none"
                raise OptionError(f"unknown key {name!r}; allowed here: {allowed}")
            refused = self.options[name](given)
            if refused:
                raise OptionError(f"{name} {refused}")
        low, high = options.get("low"), options.get("high")
        if low is not None and high is not None and low > high:
            raise OptionError(f"low {low} is above high {high}")


# --- what is typed, as a value


def _letters_and_digits(text: str) -> str | None:
    """Return the text without spaces in upper case."""
    return "".join(text.split()).upper() or None


def _number(text: str) -> int | None:
    """Return the value of typed digits, with spaces or without, or of number words."""
    joined = "".join(text.split())
    if joined.isascii() and joined.isdigit() and len(joined) <= MAX_DIGITS:
        return int(joined)
    return read_number(text)


def _report(text: str) -> int | None:
    value = _number(text)
    known = value is not None and 1 <= value // 10 <= 5 and 1 <= value % 10 <= 9
    return value if known else None


def _watts(text: str) -> int | None:
    """Return watts: "100", "100W", "1KW", "1K", "K" and "kilowatt" are read."""
    joined = "".join(text.split()).upper()
    for unit, factor in (("KILOWATT", 1000), ("KW", 1000), ("K", 1000), ("WATTS", 1), ("W", 1)):
        if joined.endswith(unit):
            value = _number(joined[: -len(unit)]) if joined != unit else (1 if factor > 1 else None)
            return None if value is None else value * factor
    return _number(text)


# --- what is said


def _spelt(text: str, manner: Manner, rng: Random, field: str) -> tuple[Word, ...]:
    return spell(text, rng=rng, manner=manner, field=field)


def _numbered(text: str, manner: Manner, rng: Random, field: str) -> tuple[Word, ...]:
    return say_number(text, manner, field=field)


def _say_call(text: str, manner: Manner, rng: Random, field: str) -> tuple[Word, ...]:
    """Return the call spelt, most often with a short break after its digit."""
    words = list(spell(text, rng=rng, manner=manner, field=field))
    call = parse(text)
    at = len(call.before) + bool(call.before) + len(call.prefix)
    if rng.random() < 0.75 and at < len(words) - 1:
        words[at] = _paused(words[at])
    return tuple(words)


def _paused(word: Word) -> Word:
    return Word(say=word.say, means=word.means, field=word.field, pause=",")


def _say_serial(text: str, manner: Manner, rng: Random, field: str) -> tuple[Word, ...]:
    said = say_number(text, manner, field=field)
    return (Word(say="number"), *said) if manner.number_word else said


def _say_watts(text: str, manner: Manner, rng: Random, field: str) -> tuple[Word, ...]:
    if text == "1000" and rng.random() < 0.6:
        one = (Word(say="one"),) if rng.random() < 0.5 else ()
        return (*one, Word(say="kilowatt", means=text, field=field))
    said = say_number(text, manner, field=field)
    return (*said, Word(say="watts")) if manner.labels else said


def _say_word(text: str, manner: Manner, rng: Random, field: str) -> tuple[Word, ...]:
    """Return the word as it is, or spelt after it by those who have time."""
    said = (Word(say=text.lower(), means=text, field=field),)
    if rng.random() < 0.3:
        spelt = spell(text, rng=rng, manner=manner)
        again = tuple(Word(say=word.say, means=word.means) for word in spelt)
        return (_paused(said[0]), *again)
    return said


# --- what is composed


def _compose_report(rng: Random, call: Callsign, options: Options, progress: int) -> str:
    if rng.random() < options.get("usual", 0.85):
        return "59"
    return rng.choice(("58", "57", "57", "56", "55", "55", "54", "53", "47", "45", "44", "43"))


def _compose_serial(rng: Random, call: Callsign, options: Options, progress: int) -> str:
    """Return a serial number: some stations are far ahead of the trainee, some have just begun."""
    ahead = rng.lognormvariate(1.0, 1.1)
    return f"{min(9999, 1 + int((progress + rng.random()) * ahead + rng.random() * 4)):03d}"


def _compose_watts(rng: Random, call: Callsign, options: Options, progress: int) -> str:
    common = (5, 10, 50, 100, 100, 100, 200, 400, 400, 500, 750, 1000, 1000, 1500)
    return str(rng.choice(options.get("watts", common)))


def _compose_area(rng: Random, call: Callsign, options: Options, progress: int) -> str:
    codes = options.get("codes") or tuple(areas(options.get("set", "hills")))
    return str(rng.choice(codes)).upper()


def _compose_locator(rng: Random, call: Callsign, options: Options, progress: int) -> str:
    """Return a square of the station's country; a third pair is one of its 24 by 24 parts."""
    square = rng.choice(call.place.squares)
    parts = ascii_uppercase[:24]
    return square + (rng.choice(parts) + rng.choice(parts) if options.get("pairs") == 3 else "")


def _compose_age(rng: Random, call: Callsign, options: Options, progress: int) -> str:
    low, high = options.get("low", 12), options.get("high", 92)
    return str(min(high, max(low, round(rng.gauss(57, 15)))))


def _compose_number(rng: Random, call: Callsign, options: Options, progress: int) -> str:
    value = rng.randint(options.get("low", 1), options.get("high", 99))
    return f"{value:0{options.get('width', 1)}d}"


def _compose_name(rng: Random, call: Callsign, options: Options, progress: int) -> str:
    return str(rng.choice(options.get("names") or given_names())).upper()


def _compose_year(rng: Random, call: Callsign, options: Options, progress: int) -> str:
    return f"{(rng.randint(options.get('low', 1955), options.get('high', 2024))) % 100:02d}"


# --- data and checks


@lru_cache(maxsize=8)
def areas(name: str) -> Mapping[str, str]:
    """Return a set of areas, code to name. Raises: OptionError where there is none such."""
    path = files("phonetics").joinpath("data", "areas", f"{name}.tsv")
    if not name.isalpha() or not path.is_file():
        raise OptionError(f"{name!r} is no set of areas; there are: {', '.join(area_sets())}")
    rows = path.read_text("utf-8").splitlines()[1:]
    return dict(row.split("\t") for row in rows if row)


def area_sets() -> tuple[str, ...]:
    """Return the names of the sets of areas that ship."""
    folder = files("phonetics").joinpath("data", "areas")
    return tuple(sorted(path.name[:-4] for path in folder.iterdir() if path.name.endswith(".tsv")))


@lru_cache(maxsize=1)
def given_names() -> tuple[str, ...]:
    """Return common given names."""
    return tuple(files("phonetics").joinpath("data", "names.txt").read_text("utf-8").split())


def _integer(low: int, high: int) -> Callable[[Any], str]:
    def check(given: Any) -> str:
        good = type(given) is int and low <= given <= high
        return "" if good else f"{given!r} is not a whole number from {low} to {high}"

    return check


def _share(given: Any) -> str:
    good = type(given) in (int, float) and 0 <= given <= 1
    return "" if good else f"{given!r} is not a share from 0 to 1"


def _list_of(what: str, good: Callable[[Any], bool]) -> Callable[[Any], str]:
    def check(given: Any) -> str:
        fine = isinstance(given, list) and 0 < len(given) <= 10_000 and all(map(good, given))
        return "" if fine else f"{_short(given)} is not a list of {what}"

    return check


def _short(given: Any) -> str:
    text = repr(given)
    return text if len(text) <= 40 else text[:37] + "..."


def _code(given: Any) -> bool:
    return isinstance(given, str) and given.isascii() and given.isalnum() and len(given) <= 8


def _letter_word(given: Any) -> bool:
    return isinstance(given, str) and given.isascii() and given.isalpha() and len(given) <= 15


def _letters(given: Any) -> str:
    good = isinstance(given, str) and given and set(given) <= set(ascii_uppercase)
    return "" if good else f"{_short(given)} is not a string of capital letters"


def _area_set(given: Any) -> str:
    known = area_sets()
    return "" if given in known else f"{_short(given)} is none of {', '.join(known)}"


_CODES = _list_of("codes of 1 to 8 letters and digits", _code)
_WORDS = _list_of("words of 1 to 15 letters", _letter_word)
_WATTS = _list_of("watts from 1 to 100000", lambda w: type(w) is int and 1 <= w <= 100_000)


def _zone(highest: int, zone: Callable[[Callsign], int]) -> Kind:
    def compose(rng: Random, call: Callsign, options: Options, progress: int) -> str:
        return f"{zone(call):02d}"

    def value(text: str) -> int | None:
        number = _number(text)
        return number if number is not None and 1 <= number <= highest else None

    return Kind(compose=compose, say=_numbered, value=value, options={}, label="zone")


KINDS: dict[str, Kind] = {
    "call": Kind(
        compose=lambda rng, call, options, progress: call.text,
        say=_say_call,
        value=_letters_and_digits,
        options={},
    ),
    "report": Kind(
        compose=_compose_report, say=_numbered, value=_report, options={"usual": _share}
    ),
    "serial": Kind(compose=_compose_serial, say=_say_serial, value=_number, options={}),
    "zone-itu": _zone(90, lambda call: call.place.itu_zone),
    "zone-amateur": _zone(40, lambda call: call.place.amateur_zone),
    "power": Kind(
        compose=_compose_watts,
        say=_say_watts,
        value=_watts,
        options={"watts": _WATTS},
        label="power",
    ),
    "area": Kind(
        compose=_compose_area,
        say=_spelt,
        value=_letters_and_digits,
        options={"codes": _CODES, "set": _area_set},
        label="area",
    ),
    "locator": Kind(
        compose=_compose_locator,
        say=_spelt,
        value=_letters_and_digits,
        options={"pairs": _integer(2, 3)},
        label="locator",
    ),
    "age": Kind(
        compose=_compose_age,
        say=_numbered,
        value=_number,
        options={"low": _integer(5, 120), "high": _integer(5, 120)},
        label="age",
    ),
    "name": Kind(
        compose=_compose_name,
        say=_say_word,
        value=_letters_and_digits,
        options={"names": _WORDS},
        label="name",
    ),
    "letter": Kind(
        compose=lambda rng, call, options, progress: rng.choice(options.get("letters", "ABCDEF")),
        say=_spelt,
        value=_letters_and_digits,
        options={"letters": _letters},
        label="class",
    ),
    "year": Kind(
        compose=_compose_year,
        say=_numbered,
        value=_number,
        options={"low": _integer(1900, 2099), "high": _integer(1900, 2099)},
        label="year",
    ),
    "number": Kind(
        compose=_compose_number,
        say=_numbered,
        value=_number,
        options={
            "low": _integer(0, 999_999),
            "high": _integer(0, 999_999),
            "width": _integer(1, 6),
        },
        label="number",
    ),
    "word": Kind(
        compose=lambda rng, call, options, progress: str(rng.choice(options["words"])).upper(),
        say=_say_word,
        value=_letters_and_digits,
        options={"words": _WORDS},
    ),
}
