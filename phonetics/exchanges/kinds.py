"""Kinds of field: how the text is made, how it is said, and when two texts are equal.

Conventions: text is what is written in a log, upper case. A kind's value is what counts as equal:
'07', '7' and '0 7' are one zone; '59', '5 9' and 'five nine' one report. None is no value and
equals nothing. Digits and letters are never taken for each other. What stations send, and how
often, is common practice, no source.
"""

from collections.abc import Callable, Hashable, Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from importlib.resources import files
from pathlib import Path
from random import Random
from string import ascii_uppercase
from typing import Any

from phonetics.alphabets import spell
from phonetics.callsigns import Callsign
from phonetics.callsigns import parse as parse_call
from phonetics.exchanges.options import (
    CODE,
    LETTER,
    WORD,
    Option,
    Options,
    SetName,
    Switch,
    Texts,
    Whole,
    Wholes,
    check,
    read_areas,
)
from phonetics.manners import Manner
from phonetics.message import Word
from phonetics.numerals import read_number, say_number

Compose = Callable[[Random, Callsign, Options, int], str]
Say = Callable[[str, Manner, Random, str], tuple[Word, ...]]
Value = Callable[[str], Hashable | None]


@dataclass(frozen=True, kw_only=True)
class Kind:
    """One kind of field.

    noun: what it is called on the air. compose(rng, call, options, progress) gives the text, say
    (text, manner, rng, field name) the words, value(text) what counts as equal. options: what a
    definition may set.
    """

    name: str
    noun: str
    compose: Compose
    say: Say
    value: Value
    options: Mapping[str, Option]

    def check(self, options: Mapping[str, object], folder: Path | None = None) -> dict[str, Any]:
        """Return the options of a definition checked, with defaults.

        folder: where the user's sets of areas are. Raises: ValueError with one line.
        """
        checked = check(options, self.options)
        if self.name == "area" and not checked["codes"]:
            checked["codes"] = tuple(read_areas(checked["set"], folder))
        if any(isinstance(option, Texts) and not checked[name]
               for name, option in self.options.items()):  # fmt: skip
            raise ValueError(f"kind {self.name!r} needs the option 'words'")
        return checked


def fold(text: str) -> str | None:
    """Return the text in upper case without spaces, None where it is empty or not ASCII."""
    folded = "".join(text.split()).upper()
    return folded if folded and folded.isascii() else None


def report_value(text: str) -> int | None:
    """Return an RS report, readability 1 to 5 and strength 1 to 9, None where it is none."""
    value = read_number(text)
    good = value is not None and 1 <= value // 10 <= 5 and value % 10
    return value if good else None


def _within(low: int, high: int) -> Value:
    def value(text: str) -> int | None:
        number = read_number(text)
        return number if number is not None and low <= number <= high else None

    return value


def year_value(text: str) -> int | None:
    """Return the last two figures of a year given in two or four."""
    number = read_number(text)
    if number is None or (number > 99 and not 1900 <= number <= 2099):
        return None
    return number % 100


def power_value(text: str) -> int | None:
    """Return a power in watts: '100', '100 W', '1 kW', 'K', 'kilowatt' (1000)."""
    folded = text.lower().replace("kilowatts", "kilowatt").strip()
    if not folded.isascii():
        return None
    for unit in ("kilowatt", "kw", "k"):
        if folded.endswith(unit):
            number = read_number(folded.removesuffix(unit)) if folded != unit else 1
            return None if number is None else 1000 * number
    for unit in ("watts", "watt", "w"):
        if folded.endswith(unit):
            return read_number(folded.removesuffix(unit))
    return read_number(folded)


def letter_value(text: str) -> str | None:
    """Return one letter, None where it is another thing."""
    folded = fold(text)
    return folded if folded and len(folded) == 1 and folded.isalpha() else None


def _serial(rng: Random, _call: Callsign, options: Options, progress: int) -> str:
    """Each station began at another time and works at another rate a heard item."""
    start, rate = rng.expovariate(1 / 40), rng.lognormvariate(0.0, 0.8)
    number = min(options["last"], 1 + int(start + rate * progress))
    return str(number).zfill(options["width"])


def _report(rng: Random, _call: Callsign, _options: Options, _progress: int) -> str:
    if rng.random() < 0.92:
        return "59"
    return rng.choice(("57", "55", "58", "56", "54", "53", "44", "45", "33"))


def _power(rng: Random, _call: Callsign, options: Options, _progress: int) -> str:
    watts = rng.choice(options["watts"])
    return "K" if watts == 1000 and rng.random() < 0.5 else str(watts)


def _locator(rng: Random, call: Callsign, options: Options, _progress: int) -> str:
    square = rng.choice(call.place.squares)
    if options["pairs"] == 2:
        return square
    return square + "".join(rng.choices(ascii_uppercase[:24], k=2))


def _between(rng: Random, _call: Callsign, options: Options, _progress: int) -> str:
    number = rng.randint(options["min"], options["max"])
    return str(number).zfill(options.get("width", 0))


def _age(rng: Random, _call: Callsign, options: Options, _progress: int) -> str:
    middle = (options["min"] + options["max"]) / 2
    return str(round(rng.triangular(options["min"], options["max"], max(middle, options["min"]))))


def _year(rng: Random, _call: Callsign, options: Options, _progress: int) -> str:
    return f"{rng.randint(options['min'], options['max']) % 100:02d}"


def _one_of(option: str) -> Compose:
    def compose(rng: Random, _call: Callsign, options: Options, _progress: int) -> str:
        return str(rng.choice(options[option])).upper()

    return compose


def _say_call(text: str, manner: Manner, rng: Random, field: str) -> tuple[Word, ...]:
    """Say the call with a short break after its separating digit."""
    words = list(spell(text, rng=rng, manner=manner, field=field))
    try:
        call = parse_call(text)
    except ValueError:
        return tuple(words)
    at = len(call.before) + bool(call.before) + len(call.prefix)
    words[at] = replace(words[at], pause=",")
    return tuple(words)


def _say_report(text: str, manner: Manner, rng: Random, field: str) -> tuple[Word, ...]:
    style = replace(manner, pairs=rng.random() < 0.07, doubles=False, drop_zeros=False)
    return say_number(text, style, field=field)


def _say_number(label: str) -> Say:
    def say(text: str, manner: Manner, _rng: Random, field: str) -> tuple[Word, ...]:
        spoken = manner.number_word if label == "number" else manner.labels
        before = (Word(say=label),) if spoken and label else ()
        return before + say_number(text, manner, field=field)

    return say


def _say_power(text: str, manner: Manner, rng: Random, field: str) -> tuple[Word, ...]:
    if not text.isdigit() or (text == "1000" and rng.random() < 0.5):
        return (Word(say="kilowatt", means=text, field=field),)
    round_number = text.endswith("00") and rng.random() < 0.7
    words = say_number(text, replace(manner, pairs=manner.pairs or round_number), field=field)
    return words + ((Word(say="watts"),) if manner.labels else ())


def _say_letters(text: str, manner: Manner, rng: Random, field: str) -> tuple[Word, ...]:
    return spell(text, rng=rng, manner=manner, field=field)


def _say_word(text: str, manner: Manner, rng: Random, field: str) -> tuple[Word, ...]:
    """Say a name or word as it is; a chatty operator may spell its letters after it."""
    said = (Word(say=text.lower(), means=text, field=field),)
    if not text.isalpha() or rng.random() >= 0.4 * manner.chatty:
        return said
    return (replace(said[0], pause=","), *spell(text, rng=rng, manner=manner, field=field))


@lru_cache(maxsize=1)
def given_names() -> tuple[str, ...]:
    """Return the given names that are sent where a definition lists none."""
    text = files("phonetics").joinpath("data", "names.txt").read_text(encoding="utf-8")
    return tuple(text.upper().split())


def _zone(attribute: str) -> Compose:
    def compose(_rng: Random, call: Callsign, options: Options, _progress: int) -> str:
        return str(getattr(call.place, attribute)).zfill(options["width"])

    return compose


def _call_text(_rng: Random, call: Callsign, _options: Options, _progress: int) -> str:
    return call.text


def _kind(
    name: str, noun: str, compose: Compose, say: Say, value: Value, **options: Option
) -> tuple[str, Kind]:
    return name, Kind(
        name=name, noun=noun, compose=compose, say=say, value=value, options=options
    )


_WATTS = (5, 5, 10, 20, 50, 100, 100, 100, 100, 100, 200, 300, 400, 500, 750, 1000, 1000, 1500)
_WIDTH = Whole(default=2, low=1, high=2)
_any = _within(0, 10**12)

KINDS: dict[str, Kind] = dict(
    (
        _kind("call", "call", _call_text, _say_call, fold),
        _kind("report", "report", _report, _say_report, report_value, optional=Switch()),
        _kind(
            "serial", "number", _serial, _say_number("number"), _any,
            width=Whole(default=3, low=1, high=6), last=Whole(default=9999, low=1, high=999999),
        ),
        _kind(
            "zone-itu", "zone", _zone("itu_zone"), _say_number("zone"), _within(1, 90),
            width=_WIDTH,
        ),
        _kind(
            "zone-amateur", "zone", _zone("amateur_zone"), _say_number("zone"), _within(1, 40),
            width=_WIDTH,
        ),
        _kind(
            "power", "power", _power, _say_power, power_value,
            watts=Wholes(default=_WATTS, low=1, high=9999),
        ),
        _kind(
            "area", "area", _one_of("codes"), _say_letters, fold,
            set=SetName(default="moorlands"),
            codes=Texts(default=(), pattern=CODE, what="codes of A-Z and 0-9"),
        ),
        _kind(
            "locator", "locator", _locator, _say_letters, fold,
            pairs=Whole(default=2, low=2, high=3),
        ),
        _kind(
            "age", "age", _age, _say_number("age"), _within(1, 130),
            min=Whole(default=14, low=1, high=99), max=Whole(default=88, low=1, high=99),
        ),
        _kind(
            "name", "name", _one_of("names"), _say_word, fold,
            names=Texts(default=given_names(), pattern=WORD, what="names of letters, - and '"),
        ),
        _kind(
            "letter", "letter", _one_of("letters"), _say_letters, letter_value,
            letters=Texts(default=tuple("ABCDEF"), pattern=LETTER, what="single letters A-Z"),
        ),
        _kind(
            "year", "year", _year, _say_number("year"), year_value,
            min=Whole(default=1952, low=1900, high=2099),
            max=Whole(default=2024, low=1900, high=2099),
        ),
        _kind(
            "number", "number", _between, _say_number("number"), _any,
            min=Whole(default=1, low=0, high=999999), max=Whole(default=99, low=0, high=999999),
            width=Whole(default=1, low=1, high=6),
        ),
        _kind(
            "word", "word", _one_of("words"), _say_word, fold,
            words=Texts(default=(), pattern=WORD, what="words of letters, - and '"),
        ),
    )
)  # fmt: skip
