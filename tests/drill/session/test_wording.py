"""Sentences about sessions: what they say for results whose figures are known."""

import pytest

from drill.psychometrics.intervals import Interval
from drill.session.attempts import SessionTally
from drill.session.results import (
    AlternativeResult,
    ComparisonResult,
    ThresholdDifference,
)
from drill.session.wording import (
    comparison_block,
    field_label,
    interval_db,
    plural,
    score_sentence,
)


def test_a_noun_is_in_the_plural_unless_there_is_one() -> None:
    assert [plural(number, "item") for number in (0, 1, 2)] == ["0 items", "1 item", "2 items"]


def test_an_interval_has_signs_and_one_decimal() -> None:
    assert interval_db(Interval(value=-3.04, low=-4.0, high=0.05)) == (
        "-3.0 dB (95 %: -4.0 to +0.1)"
    )


def test_a_field_that_may_be_left_out_says_when() -> None:
    assert field_label("report", "59") == "report (may be left out if 59)"
    assert field_label("call", "") == "call"


def test_the_score_has_means_and_what_is_left() -> None:
    assert score_sentence(SessionTally(), 5) == "No answer yet."
    tally = SessionTally(answered=2, right=1, characters_right=9, characters_sent=11, points=80.0)
    assert score_sentence(tally, 5) == (
        "1 of 2 logged right, 9 of 11 characters, 40 points per item; 3 to go."
    )


@pytest.mark.parametrize(
    ("low", "high", "verdict"),
    [(-1.0, 2.0, "no difference shown"), (0.5, 2.0, "harder"), (-2.0, -0.5, "easier")],
)
def test_a_difference_is_shown_if_its_interval_excludes_zero(
    low: float, high: float, verdict: str
) -> None:
    middle = (low + high) / 2
    result = ComparisonResult(
        alternatives=(
            AlternativeResult(label="2600", estimate=None),
            AlternativeResult(label="1800", estimate=None),
        ),
        differences=(
            ThresholdDifference(
                label="1800",
                reference="2600",
                interval=Interval(value=middle, low=low, high=high),
            ),
        ),
    )
    (sentence,) = comparison_block(result).sentences
    assert sentence == (
        f"1800 compared with 2600: x50 differs by {middle:+.1f} dB "
        f"(95 %: {low:+.1f} to {high:+.1f}): {verdict}."
    )
