"""The words that turn the dial."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drill.core.errors import UserError
from drill.hunt.dial_words import DIAL_STEP_HZ, khz_text, read_dial_words

BANDS = ((14_150_000.0, 14_300_000.0), (21_200_000.0, 21_350_000.0))
DIAL_HZ = 14_210_400.0


@pytest.mark.parametrize(
    ("line", "hz"),
    [
        ("up 2", 14_212_400.0),
        ("UP 0.5", 14_210_900.0),
        ("down 0,25", 14_210_150.0),
        ("  down   10 ", 14_200_400.0),
        ("to 14208", 14_208_000.0),
        ("to 14.208", 14_208_000.0),
        ("to 21205.55", 21_205_550.0),
        ("up 0.004", 14_210_400.0),
    ],
)
def test_words_turn_the_dial(line: str, hz: float) -> None:
    assert read_dial_words(line, BANDS, DIAL_HZ) == hz


@pytest.mark.parametrize("line", ["", "OH2QRK", "599 14", "upper", "to14208", "top 5", "u 2"])
def test_other_lines_are_not_dial_words(line: str) -> None:
    assert read_dial_words(line, BANDS, DIAL_HZ) is None


@pytest.mark.parametrize(
    ("line", "message"),
    [
        ("up", "type kilohertz after up; examples: up 2"),
        ("up two", "'two' is not a number of kHz"),
        ("to -5", "'-5' is not a number of kHz"),
        ("to 7085", "7085.0 kHz is not on a band: 14150.0 to 14300.0, 21200.0 to 21350.0 kHz"),
        ("up 500", "14710.4 kHz is not on a band"),
    ],
)
def test_wrong_words_say_what_to_type(line: str, message: str) -> None:
    with pytest.raises(UserError, match=message):
        read_dial_words(line, BANDS, DIAL_HZ)


@given(line=st.text())
def test_any_line_is_a_frequency_no_words_or_an_error(line: str) -> None:
    for text in (line, f"to {line}", f"up {line}"):
        try:
            hz = read_dial_words(text, BANDS, DIAL_HZ)
        except UserError:
            continue
        assert hz is None or hz % DIAL_STEP_HZ == 0


def test_frequencies_are_written_with_as_many_decimals_as_they_need() -> None:
    assert [khz_text(hz) for hz in (14_208_000, 14_208_300, 14_208_310)] == [
        "14208.0",
        "14208.3",
        "14208.31",
    ]
