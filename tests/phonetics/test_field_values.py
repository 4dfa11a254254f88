"""The entries that are accepted for each kind of field; no entry is read as another value.

Source of the entries: common practice, no source.
"""

import re
import string
from collections.abc import Hashable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from phonetics.field_kinds import FIELD_KINDS
from phonetics.field_values import is_cut_number, plain_characters
from phonetics.numerals import read_number

NUMBER_KINDS = ("serial", "number", "zone-itu", "zone-amateur", "age", "report", "year", "power")


def full_width(text: str) -> str:
    """Return the text in the full-width characters of East Asian keyboards."""
    return text.translate({code: code + 0xFEE0 for code in range(0x21, 0x7F)})


def value(kind: str, text: str) -> Hashable | None:
    return FIELD_KINDS[kind].value(text)


@pytest.mark.parametrize(
    ("kind", "sent", "entries"),
    [
        (
            "serial",
            "014",
            "14, nr014, nr 014, nr. 014, n0014, no. 014, No 14, #14, # 014, 14.",
        ),
        ("serial", "014", "number fourteen, serial 14, one four, nr: 14, 0 1 4"),
        ("zone-itu", "14", "zone 14, Zone14, zone: 14, 14., ZONE fourteen"),
        ("zone-amateur", "07", "zone 7, 7, oh seven"),
        ("report", "59", "5 9, 59., report 59, five nine"),
        ("power", "100", "100w, 100 w, 100 watt, 100 watts, power 100, hundred watts, 0.1kW"),
        ("power", "1000", "1k, 1kw, 1 kw, 1 kilo, kilo, K, kilowatt, one kilowatt, 1.0kW, 1000W"),
        ("power", "1500", "1.5kw, 1.5 kW, 1.50 kilowatts, 1500, 1500 W"),
        ("year", "87", "1987, 87., year 87, eighty-seven"),
        ("year", "05", "2005, 5, oh five"),
        ("age", "57", "age 57, fifty-seven"),
        ("area", "STO", "sto, area STO, S T O"),
        ("locator", "JO31", "jo31, locator JO31"),
        ("name", "ANNA", "anna, name Anna"),
        ("letter", "C", "c, class C"),
        ("call", "E8ABC/P", "e8abc/p, E8ABC-P, E8ABC portable, E8ABC/portable, E8ABC stroke P"),
        ("call", "E8ABC/P", "e8abc slash portable, E8ABC\u2013P"),
        ("call", "E8ABC/M", "E8ABC mobile, e8abc/m"),
        ("call", "E8ABC/MM", "E8ABC maritime mobile, E8ABC/MM"),
        ("call", "X2/E8ABC", "x2/e8abc, X2 stroke E8ABC, X2-E8ABC"),
    ],
)
def test_entries_as_operators_type_them_are_taken(kind: str, sent: str, entries: str) -> None:
    assert value(kind, sent) is not None
    for entry in entries.split(", "):
        assert value(kind, entry) == value(kind, sent), entry
        assert value(kind, full_width(entry)) == value(kind, sent), entry


@pytest.mark.parametrize(
    ("kind", "sent", "entries"),
    [
        ("serial", "014", "O14, I4, l4, N14X, 1.4, zone 14, -, nr, #, 5NN, TT1"),
        ("zone-itu", "14", "nr. 1 4 x, age 14, 1O, I4, zone, zoneI4"),
        ("report", "59", "5NN, 599, ENN, S9, 5O, 95"),
        ("power", "1000", "1M, W, 1O00, 1 0 kw, 10kw, 0.1kw, 1.0 w, 100"),
        ("power", "1500", "1 5 kw, 15kw, 1.5, 1.5w, 1.5005kw"),
        ("year", "87", "2087, 1887, 187, 8O, 78"),
        ("year", "05", "1905"),
        ("call", "E8ABC", "E8ABC/P, E8ABC portable, E8AB, EBABC"),
        ("call", "E8ABC/P", "E8ABC, E8ABCP, E8ABC/M, E8ABC mobile, E8ABC/MP"),
        ("locator", "JO31", "J031, JOE1, JO3I"),
    ],
)
def test_entries_that_mean_something_else_are_not_taken(kind: str, sent: str, entries: str) -> None:
    for entry in entries.split(", "):
        assert value(kind, entry) != value(kind, sent), entry


LABELS = {
    "serial": ("nr", "nr.", "no.", "no", "n", "#", "number"), "number": ("number", "nr"),
    "zone-itu": ("zone",), "zone-amateur": ("zone",), "age": ("age",), "report": ("report",),
    "year": ("year",), "power": ("power",),
}  # fmt: skip
SIMPLE = {
    "serial": range(10_000), "number": range(1_000_000), "zone-itu": range(1, 91),
    "zone-amateur": range(1, 41), "age": range(5, 121),
    "report": [10 * r + s for r in range(1, 6) for s in range(1, 10)],
    "year": range(1930, 2030), "power": range(1, 2001),
}  # fmt: skip


@st.composite
def number_entries(draw: st.DrawFn) -> tuple[str, int, str]:
    """Draw a kind of number field, a value, and one way to type that value."""
    kind = draw(st.sampled_from(NUMBER_KINDS))
    number = draw(st.sampled_from(SIMPLE[kind]))
    digits = f"{number % 100:02d}" if kind == "year" and draw(st.booleans()) else str(number)
    if kind == "power" and draw(st.booleans()):
        text = draw(st.sampled_from([f"{number}w", f"{number} watts", f"{number / 1000:g} kW"]))
    else:
        zeros = 0 if kind == "year" and len(digits) == 4 else draw(st.integers(0, 2))
        text = draw(st.sampled_from(["", " "])).join("0" * zeros + digits)
    label = draw(st.sampled_from(["", *LABELS[kind]]))
    entry = label + draw(st.sampled_from([" ", "" if label else " "])) + text
    entry += draw(st.sampled_from(["", ".", " "]))
    if draw(st.booleans()):
        entry = full_width(entry)
    return kind, number, entry.upper() if draw(st.booleans()) else entry


@given(number_entries())
def test_every_way_to_type_a_number_gives_that_number(drawn: tuple[str, int, str]) -> None:
    kind, number, entry = drawn
    assert value(kind, entry) == number


SIMILAR = {"0": "OoDdQ", "1": "IiLl"}


@given(number_entries(), st.data())
def test_a_letter_for_a_digit_is_never_taken(
    drawn: tuple[str, int, str], data: st.DataObject
) -> None:
    kind, number, entry = drawn
    entry = plain_characters(entry)
    places = [index for index, character in enumerate(entry) if character.isdigit()]
    place = data.draw(st.sampled_from(places))
    letter = data.draw(st.sampled_from(SIMILAR.get(entry[place], "SsBbZzGgTtNn")))
    assert value(kind, entry[:place] + letter + entry[place + 1 :]) != number


ENTRY_PARTS = (
    "0", "1", "5", "14", "100", " ", " ", ".", "-", "#", "/", "zone", "nr", "no", "n", "number",
    "report", "year", "power", "age", "k", "kw", " kilo", "w", " watts", "O", "I", "T",
)  # fmt: skip


def plain_reading(kind: str, entry: str) -> int | None:
    """Return the only number that an entry contains, read without the product's grammar.

    None if the entry has no digits; -1 if they are not adjacent or unknown text is beside them.
    """
    text = entry.translate({code: code - 0xFEE0 for code in range(0xFF01, 0xFF5F)}).lower()
    groups = re.findall(r"[0-9]+(?:[ \-]+[0-9]+)*", text)
    if not groups:
        return None
    company = set(re.findall(r"[a-z]+", text))
    allowed = {"serial", "number", "nr", "no", "n", "zone", "age", "report", "year", "power"}
    units = {"k", "kw", "kilo", "kilowatt", "kilowatts"} if kind == "power" else set()
    watts = {"w", "watt", "watts"} if kind == "power" else set()
    if company - allowed - units - watts:
        return -1
    factor = 1000 if company & units else 1
    fraction = re.search(r"([0-9]+)\.([0-9]{1,3})(?![0-9])", text)
    if fraction and factor == 1000:
        return int(fraction[1]) * 1000 + int(fraction[2].ljust(3, "0"))
    return int(re.sub(r"[ \-]", "", groups[0])) * factor if len(groups) == 1 else -1


@given(kind=st.sampled_from(NUMBER_KINDS), parts=st.lists(st.sampled_from(ENTRY_PARTS), max_size=6))
def test_any_digits_that_are_taken_are_the_only_number_of_the_entry(
    kind: str, parts: list[str]
) -> None:
    entry = "".join(parts)
    taken, reading = value(kind, entry), plain_reading(kind, entry)
    if taken is None or reading is None:
        return
    allowed = {reading} if kind != "year" else {reading, 1900 + reading, 2000 + reading}
    assert taken in allowed


@given(kind=st.sampled_from(NUMBER_KINDS), text=st.text(max_size=12))
def test_no_other_script_is_a_number(kind: str, text: str) -> None:
    plain = plain_characters(text)
    assert plain.isascii() or value(kind, text) is None


CALLS = st.from_regex(r"\A([A-Z]{1,2}|[A-Z][2-9])[0-9][A-Z]{1,3}(/(P|M|MM|A|[0-9]))?\Z")


@given(CALLS, CALLS)
def test_two_calls_are_equal_only_if_they_are_written_the_same(first: str, second: str) -> None:
    endings = {"/P": " portable", "/M": " mobile", "/MM": "-MM"}
    ending = next((end for end in endings if first.endswith(end)), "")
    entry = first.removesuffix(ending).lower() + endings.get(ending, "")
    assert value("call", entry) == value("call", first)
    assert (value("call", entry) == value("call", second)) == (first == second)


@given(st.text(string.ascii_uppercase, min_size=1, max_size=8))
def test_a_code_is_equal_to_itself_alone(code: str) -> None:
    """A code that begins with the name of its field is not shortened."""
    for kind in ("area", "locator", "name", "letter", "word"):
        assert value(kind, code) == code
        assert value(kind, f" {' '.join(code.lower())} ") == code


@pytest.mark.parametrize(
    ("text", "expected"),
    [("5NN", True), ("TT1", True), ("ENN", True), ("59", False), ("", False), ("5XX", False)],
)
def test_cut_numbers_are_recognised(text: str, expected: bool) -> None:
    assert is_cut_number(text) is expected


@pytest.mark.parametrize(
    ("kind", "text", "clause"),
    [
        ("serial", "TT1", "TT1 is a Morse cut number; type a number in digits"),
        ("report", "599", "599 is not valid here; type two digits, such as 59"),
        ("zone-itu", "91", "91 is not valid here; type a zone from 1 to 90"),
        ("year", "187", "187 is not valid here; type a year of two or four digits"),
        ("serial", "14", ""),
        ("serial", "1?", ""),
        ("serial", " ", ""),
        ("area", "5NN", ""),
    ],
)  # fmt: skip
def test_an_entry_without_a_value_is_explained(kind: str, text: str, clause: str) -> None:
    assert FIELD_KINDS[kind].explain(text) == clause


def test_number_words_are_still_read() -> None:
    assert value("serial", "number twenty six") == read_number("twenty six") == 26
