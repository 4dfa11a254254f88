"""The kinds of field in an exchange: how each is composed, spoken, read and checked.

A field's text is the log entry, in upper case. The kinds are common practice (report RS, serial
number, zone, locator), no source; the report is the readability and strength scale, R 1 to 5 and S
1 to 9.
"""

from collections.abc import Callable, Hashable, Mapping
from dataclasses import dataclass
from random import Random
from string import ascii_uppercase
from typing import Any

from phonetics.callsigns import Callsign
from phonetics.field_options import (
    OptionCheck,
    check_area_set,
    check_codes,
    check_letters,
    check_share,
    check_watts,
    check_words,
    whole_number,
)
from phonetics.field_values import (
    SERIAL_LABELS,
    callsign_value,
    code_value,
    is_cut_number,
    joined,
    number_value,
    plain_characters,
    report_value,
    watts_value,
    without_label,
    year_value,
)
from phonetics.field_words import say_call, say_digits, say_serial, say_spelt, say_watts, say_word
from phonetics.message import Word
from phonetics.over_style import OverStyle
from phonetics.word_lists import area_names, given_names

Options = Mapping[str, Any]


class OptionError(ValueError):
    """An option that a field kind does not accept; the message names the allowed values."""


@dataclass(frozen=True, kw_only=True, slots=True)
class FieldKind:
    """One kind of field.

    compose: (rng, call, options, progress) -> written text; progress is the trainee's number of
    contacts so far. say: (text, over_style, rng, field) -> words. value: typed text -> the value to
    compare, None if the text is not a value of this kind. options: name of each option -> its check
    (see field_options). label: word that some operators say before the value. typed_labels: words
    that may be typed before the value, in lower case. expected: for explanations, what to type in a
    number field; "" for a field of letters and digits.
    """

    compose: Callable[[Random, Callsign, Options, int], str]
    say: Callable[[str, OverStyle, Random, str], tuple[Word, ...]]
    value: Callable[[str], Hashable | None]
    options: Mapping[str, OptionCheck]
    label: str = ""
    typed_labels: tuple[str, ...] = ()
    expected: str = ""

    def typed_characters(self, text: str) -> str:
        """Return the characters of an entry that are compared with those sent, in upper case.

        The label, white space and punctuation at the ends are removed; "" if nothing remains.
        """
        if self.value is callsign_value:
            return callsign_value(text) or ""
        return joined(without_label(text, self.typed_labels, glued=bool(self.expected)))

    def explain(self, text: str) -> str:
        """Return a clause on why an entry has no value; "" if it has one or contains a "?"."""
        typed = joined(plain_characters(text))
        if not typed or not self.expected or "?" in typed or self.value(text) is not None:
            return ""
        if is_cut_number(typed):
            return f"{typed} is a Morse cut number; type {self.expected}"
        return f"{typed} is not valid here; type {self.expected}"

    def check(self, options: Options) -> None:
        """Raise OptionError for an unknown option or an invalid value."""
        for name, value in options.items():
            if name not in self.options:
                allowed = ", ".join(self.options) or "none"
                raise OptionError(f"unknown key {name!r}; allowed here: {allowed}")
            reason = self.options[name](value)
            if reason:
                raise OptionError(f"{name} {reason}")
        low, high = options.get("low"), options.get("high")
        if low is not None and high is not None and low > high:
            raise OptionError(f"low {low} is above high {high}")


def _compose_report(rng: Random, call: Callsign, options: Options, progress: int) -> str:
    if rng.random() < options.get("usual", 0.85):
        return "59"
    return rng.choice(("58", "57", "57", "56", "55", "55", "54", "53", "47", "45", "44", "43"))


def _compose_serial(rng: Random, call: Callsign, options: Options, progress: int) -> str:
    """Return a serial number; some stations have far more contacts than the trainee, some few."""
    ahead = rng.lognormvariate(1.0, 1.1)
    return f"{min(9999, 1 + int((progress + rng.random()) * ahead + rng.random() * 4)):03d}"


def _compose_watts(rng: Random, call: Callsign, options: Options, progress: int) -> str:
    common = (5, 10, 50, 100, 100, 100, 200, 400, 400, 500, 750, 1000, 1000, 1500)
    return str(rng.choice(options.get("watts", common)))


def _compose_area(rng: Random, call: Callsign, options: Options, progress: int) -> str:
    codes = options.get("codes") or tuple(area_names(options.get("set", "hills")))
    return str(rng.choice(codes)).upper()


def _compose_locator(rng: Random, call: Callsign, options: Options, progress: int) -> str:
    """Return a square of the station's place, with a random subsquare if `pairs` is 3."""
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


def _zone(highest: int, zone: Callable[[Callsign], int]) -> FieldKind:
    def compose(rng: Random, call: Callsign, options: Options, progress: int) -> str:
        return f"{zone(call):02d}"

    def value(text: str) -> int | None:
        number = number_value(text, ("zone",))
        return number if number is not None and 1 <= number <= highest else None

    return FieldKind(
        compose=compose,
        say=say_digits,
        value=value,
        options={},
        label="zone",
        typed_labels=("zone",),
        expected=f"a zone from 1 to {highest}",
    )


def _number_reader(*labels: str) -> Callable[[str], int | None]:
    return lambda text: number_value(text, labels)


def _code_reader(label: str) -> Callable[[str], str | None]:
    return lambda text: code_value(text, label)


FIELD_KINDS: dict[str, FieldKind] = {
    "call": FieldKind(
        compose=lambda rng, call, options, progress: call.text,
        say=say_call,
        value=callsign_value,
        options={},
    ),
    "report": FieldKind(
        compose=_compose_report,
        say=say_digits,
        value=report_value,
        options={"usual": check_share},
        typed_labels=("report",),
        expected="two digits, such as 59",
    ),
    "serial": FieldKind(
        compose=_compose_serial,
        say=say_serial,
        value=_number_reader(*SERIAL_LABELS),
        options={},
        typed_labels=SERIAL_LABELS,
        expected="a number in digits",
    ),
    "zone-itu": _zone(90, lambda call: call.place.itu_zone),
    "zone-amateur": _zone(40, lambda call: call.place.amateur_zone),
    "power": FieldKind(
        compose=_compose_watts,
        say=say_watts,
        value=watts_value,
        options={"watts": check_watts},
        label="power",
        typed_labels=("power",),
        expected="watts, such as 100, or kilowatts, such as 1.5kW",
    ),
    "area": FieldKind(
        compose=_compose_area,
        say=say_spelt,
        value=_code_reader("area"),
        options={"codes": check_codes, "set": check_area_set},
        label="area",
        typed_labels=("area",),
    ),
    "locator": FieldKind(
        compose=_compose_locator,
        say=say_spelt,
        value=_code_reader("locator"),
        options={"pairs": whole_number(2, 3)},
        label="locator",
        typed_labels=("locator",),
    ),
    "age": FieldKind(
        compose=_compose_age,
        say=say_digits,
        value=_number_reader("age"),
        options={"low": whole_number(5, 120), "high": whole_number(5, 120)},
        label="age",
        typed_labels=("age",),
        expected="an age in digits",
    ),
    "name": FieldKind(
        compose=_compose_name,
        say=say_word,
        value=_code_reader("name"),
        options={"names": check_words},
        label="name",
        typed_labels=("name",),
    ),
    "letter": FieldKind(
        compose=lambda rng, call, options, progress: rng.choice(options.get("letters", "ABCDEF")),
        say=say_spelt,
        value=_code_reader("class"),
        options={"letters": check_letters},
        label="class",
        typed_labels=("class",),
    ),
    "year": FieldKind(
        compose=_compose_year,
        say=say_digits,
        value=year_value,
        options={"low": whole_number(1900, 2099), "high": whole_number(1900, 2099)},
        label="year",
        typed_labels=("year",),
        expected="a year of two or four digits",
    ),
    "number": FieldKind(
        compose=_compose_number,
        say=say_digits,
        value=_number_reader(*SERIAL_LABELS),
        options={
            "low": whole_number(0, 999_999),
            "high": whole_number(0, 999_999),
            "width": whole_number(1, 6),
        },
        label="number",
        typed_labels=SERIAL_LABELS,
        expected="a number in digits",
    ),
    "word": FieldKind(
        compose=lambda rng, call, options, progress: str(rng.choice(options["words"])).upper(),
        say=say_word,
        value=code_value,
        options={"words": check_words},
    ),
}
