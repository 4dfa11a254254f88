"""Numbers: spoken words and their value."""

import itertools
import re
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from phonetics.numerals import (
    MAX_DIGITS,
    digit_word,
    number_vocabulary,
    read_number,
    say_number,
)
from phonetics.over_style import (
    FIGURE_STYLES,
    PLAIN_OVER_STYLE,
    ZERO_WORDS,
    OverStyle,
    draw_over_style,
)

STYLES = [
    OverStyle(zero=zero, figures=figures, pairs=pairs, doubles=doubles, drop_zeros=drop)
    for zero, figures, pairs, doubles, drop in itertools.product(
        ZERO_WORDS, FIGURE_STYLES, (False, True), (False, True), (False, True)
    )
]
NUMBERS = st.text("0123456789", min_size=1, max_size=MAX_DIGITS)


@given(NUMBERS, st.sampled_from(STYLES))
def test_any_number_reads_back_in_any_over_style(text: str, style: OverStyle) -> None:
    words = say_number(text, style, field="serial")
    assert read_number(word.say for word in words) == int(text)
    carried = "".join(word.means for word in words)
    assert carried == ((text.lstrip("0") or "0") if style.drop_zeros else text)
    assert {word.field for word in words} == {"serial"}
    assert {word.say for word in words} <= number_vocabulary()


@pytest.mark.parametrize("style", STYLES[::3])
def test_every_serial_number_reads_back(style: OverStyle) -> None:
    for value in range(2500):
        for text in (str(value), f"{value:03d}"):
            assert read_number(word.say for word in say_number(text, style)) == value


@pytest.mark.parametrize(
    ("text", "style", "said"),
    [
        ("07", OverStyle(zero="oh"), "oh seven"),
        ("07", OverStyle(drop_zeros=True), "seven"),
        ("000", OverStyle(drop_zeros=True), "zero"),
        ("26", OverStyle(pairs=True), "twenty-six"),
        ("126", OverStyle(pairs=True), "one twenty-six"),
        ("1234", OverStyle(pairs=True), "twelve thirty-four"),
        ("014", OverStyle(pairs=True), "zero fourteen"),
        ("400", OverStyle(pairs=True), "four hundred"),
        ("1300", OverStyle(pairs=True), "thirteen hundred"),
        ("2000", OverStyle(pairs=True), "two thousand"),
        ("355", OverStyle(doubles=True), "three double five"),
        ("555", OverStyle(doubles=True), "double five five"),
        ("3459", OverStyle(figures="icao"), "tree fower fife niner"),
        ("01", OverStyle(figures="itu"), "nadazero unaone"),
    ],
)
def test_numbers_are_spoken_as_operators_speak_them(text: str, style: OverStyle, said: str) -> None:
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
def test_typed_numbers_are_read(typed: str, value: int) -> None:
    assert read_number(typed) == value


@pytest.mark.parametrize(
    "typed",
    ["", " ", "O7", "o seven", "l", "five x", "double", "double twenty", "number", "hundred five x",
     "-", "7.5", "\N{SUPERSCRIPT TWO}", "\N{ARABIC-INDIC DIGIT SEVEN}", "9" * 13, "9" * 5000,
     "one hundred and", "one hundred two hundred"],
)  # fmt: skip
def test_text_that_is_not_a_number_has_no_value(typed: str) -> None:
    assert read_number(typed) is None


@given(st.text() | st.lists(st.sampled_from(sorted(number_vocabulary())), max_size=8).map(" ".join))
def test_any_text_has_a_value_or_none(text: str) -> None:
    value = read_number(text)
    assert value is None or 0 <= value < 10**MAX_DIGITS


@pytest.mark.parametrize("text", ["", "7a", "-1", "\N{SUPERSCRIPT TWO}", "1" * 13])
def test_only_digits_can_be_spoken_as_a_number(text: str) -> None:
    with pytest.raises(ValueError, match="is not a number"):
        say_number(text, PLAIN_OVER_STYLE)
    with pytest.raises(ValueError, match="is not one digit"):
        digit_word(text, PLAIN_OVER_STYLE)


def test_words_contain_only_letters_hyphen_and_apostrophe() -> None:
    assert all(re.fullmatch(r"[a-z][a-z-]*", word) for word in number_vocabulary())


def test_drawn_over_styles_differ() -> None:
    rng = Random(4)
    drawn = [draw_over_style(rng) for _ in range(300)]
    assert len(set(drawn)) > 150
    assert {over_style.figures for over_style in drawn} >= {"plain", "icao"}
    assert draw_over_style(Random(9)) == draw_over_style(Random(9))


def test_the_share_of_alternates_can_be_given() -> None:
    rng = Random(4)
    assert {draw_over_style(rng, alternates=0.25).alternates for _ in range(20)} == {0.25}
    assert draw_over_style(rng, plain=True) == PLAIN_OVER_STYLE
    assert draw_over_style(rng, plain=True, alternates=0.5) == OverStyle(alternates=0.5)


def test_an_unknown_habit_is_refused() -> None:
    with pytest.raises(ValueError, match="zero 'nil' is unknown; use one of zero, oh"):
        OverStyle(zero="nil")
    with pytest.raises(ValueError, match=r"alternates 1\.5 is not a share from 0 to 1"):
        OverStyle(alternates=1.5)
