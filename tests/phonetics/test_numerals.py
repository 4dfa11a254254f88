"""Numbers said and read back."""

import itertools
import re
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from phonetics.manners import FIGURES, PLAIN, ZEROS, Manner, draw_manner
from phonetics.numerals import (
    MAX_DIGITS,
    digit_word,
    number_vocabulary,
    read_number,
    say_number,
)

STYLES = [
    Manner(zero=zero, figures=figures, pairs=pairs, doubles=doubles, drop_zeros=drop)
    for zero, figures, pairs, doubles, drop in itertools.product(
        ZEROS, FIGURES, (False, True), (False, True), (False, True)
    )
]
NUMBERS = st.text("0123456789", min_size=1, max_size=MAX_DIGITS)


@given(NUMBERS, st.sampled_from(STYLES))
def test_any_number_in_any_style_is_read_back(text: str, style: Manner) -> None:
    words = say_number(text, style, field="serial")
    assert read_number(word.say for word in words) == int(text)
    carried = "".join(word.means for word in words)
    assert carried == ((text.lstrip("0") or "0") if style.drop_zeros else text)
    assert {word.field for word in words} == {"serial"}
    assert {word.say for word in words} <= number_vocabulary()


@pytest.mark.parametrize("style", STYLES[::3])
def test_every_serial_number_is_read_back(style: Manner) -> None:
    for value in range(2500):
        for text in (str(value), f"{value:03d}"):
            assert read_number(word.say for word in say_number(text, style)) == value


@pytest.mark.parametrize(
    ("text", "style", "said"),
    [
        ("07", Manner(zero="oh"), "oh seven"),
        ("07", Manner(drop_zeros=True), "seven"),
        ("000", Manner(drop_zeros=True), "zero"),
        ("26", Manner(pairs=True), "twenty-six"),
        ("126", Manner(pairs=True), "one twenty-six"),
        ("1234", Manner(pairs=True), "twelve thirty-four"),
        ("014", Manner(pairs=True), "zero fourteen"),
        ("400", Manner(pairs=True), "four hundred"),
        ("1300", Manner(pairs=True), "thirteen hundred"),
        ("2000", Manner(pairs=True), "two thousand"),
        ("355", Manner(doubles=True), "three double five"),
        ("555", Manner(doubles=True), "double five five"),
        ("3459", Manner(figures="icao"), "tree fower fife niner"),
        ("01", Manner(figures="itu"), "nadazero unaone"),
    ],
)
def test_numbers_are_said_as_operators_say_them(text: str, style: Manner, said: str) -> None:
    assert " ".join(word.say for word in say_number(text, style)) == said


@pytest.mark.parametrize(
    ("typed", "value"),
    [
        ("07", 7), ("7", 7), ("0 7", 7), ("oh seven", 7), ("Twenty Six", 26), ("double five", 55),
        ("number eight", 8), ("niner", 9), ("triple one", 111), ("one twenty-six", 126),
        ("1 26", 126), ("twenty 6", 26), ("20 6", 206), ("one hundred and five", 105),
        ("a hundred", 100), ("two thousand fifteen", 2015), ("twelve hundred", 1200),
        ("five nine", 59), ("fifty nine", 59),
    ],
)  # fmt: skip
def test_what_is_typed_is_read(typed: str, value: int) -> None:
    assert read_number(typed) == value


@pytest.mark.parametrize(
    "typed",
    ["", " ", "O7", "o seven", "l", "five x", "double", "double twenty", "number", "hundred five x",
     "-", "7.5", "\N{SUPERSCRIPT TWO}", "\N{ARABIC-INDIC DIGIT SEVEN}", "9" * 13, "9" * 5000,
     "one hundred and", "one hundred two hundred"],
)  # fmt: skip
def test_what_is_no_number_has_no_value(typed: str) -> None:
    assert read_number(typed) is None


@given(st.text() | st.lists(st.sampled_from(sorted(number_vocabulary())), max_size=8).map(" ".join))
def test_any_text_has_a_value_or_none(text: str) -> None:
    value = read_number(text)
    assert value is None or 0 <= value < 10**MAX_DIGITS


@pytest.mark.parametrize("text", ["", "7a", "-1", "\N{SUPERSCRIPT TWO}", "1" * 13])
def test_only_digits_are_said(text: str) -> None:
    with pytest.raises(ValueError, match="is not a number"):
        say_number(text, PLAIN)
    with pytest.raises(ValueError, match="is not one digit"):
        digit_word(text, PLAIN)


def test_every_word_can_be_spoken_by_a_voice() -> None:
    assert all(re.fullmatch(r"[a-z][a-z-]*", word) for word in number_vocabulary())


def test_habits_are_drawn_and_differ() -> None:
    rng = Random(4)
    drawn = [draw_manner(rng) for _ in range(300)]
    assert len(set(drawn)) > 150
    assert {manner.figures for manner in drawn} >= {"plain", "icao"}
    assert draw_manner(Random(9)) == draw_manner(Random(9))


def test_the_share_of_alternates_can_be_chosen() -> None:
    rng = Random(4)
    assert {draw_manner(rng, alternates=0.25).alternates for _ in range(20)} == {0.25}
    assert draw_manner(rng, plain=True) == PLAIN
    assert draw_manner(rng, plain=True, alternates=0.5) == Manner(alternates=0.5)


def test_a_habit_that_does_not_exist_is_refused() -> None:
    with pytest.raises(ValueError, match="zero 'nil' is not a habit; use one of zero, oh"):
        Manner(zero="nil")
    with pytest.raises(ValueError, match=r"alternates 1\.5 is not a share from 0 to 1"):
        Manner(alternates=1.5)
