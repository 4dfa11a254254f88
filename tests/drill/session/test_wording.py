"""Sentences about sessions, checked with results whose figures are known."""

from dataclasses import replace

import pytest

from drill.psychometrics.intervals import Interval
from drill.radio.presets import load_preset, parse_fading
from drill.session.attempts import SessionTally
from drill.session.results import (
    AlternativeResult,
    ChangeResolution,
    ComparisonResult,
    ThresholdDifference,
)
from drill.session.wording import (
    comparison_block,
    conditions_label,
    field_label,
    interval_db,
    resolution_sentence,
    score_sentence,
)


def test_an_interval_has_signs_and_one_decimal() -> None:
    assert interval_db(Interval(value=-3.04, low=-4.0, high=0.05)) == (
        "-3.0 dB (95 %: -4.0 to +0.1)"
    )


def test_a_field_that_may_be_left_out_says_when() -> None:
    assert field_label("report", "59") == "report (may be left out if 59)"
    assert field_label("call", "") == "call"


def test_the_score_gives_what_was_right_on_first_hearing_and_what_is_left() -> None:
    assert score_sentence(SessionTally(), 5) == "No answer yet."
    tally = SessionTally(
        answered=3, right=2, right_at_first_hearing=2, characters_right=9, characters_sent=11
    )
    assert (
        score_sentence(tally, 5)
        == "2 of 3 right on first hearing, 9 of 11 characters right; 2 items to go."
    )
    assert score_sentence(replace(tally, right_at_first_hearing=1), 5) == (
        "1 of 3 right on first hearing, 1 after a replay, 9 of 11 characters right; 2 items to go."
    )


def test_conditions_are_named_by_their_preset_and_a_fading_of_their_own() -> None:
    plain = load_preset("plain").conditions
    weekend = load_preset("busy-weekend").conditions
    quiet = parse_fading("mid-quiet")
    assert conditions_label(plain) == "plain"
    assert conditions_label(weekend) == "busy-weekend"
    assert conditions_label(replace(plain, fading=quiet)) == "plain, mid-quiet"
    assert conditions_label(replace(weekend, fading=quiet)) == "busy-weekend, mid-quiet"
    assert conditions_label(replace(plain, name="", fading=quiet)) == "own, mid-quiet"
    assert conditions_label(replace(plain, name="mine", fading=quiet)) == "mine"


@pytest.mark.parametrize(
    ("includes_days", "days"),
    [
        (True, "the variation between days is included"),
        (
            False,
            "the variation between days is not known yet and would increase both figures",
        ),
    ],
)
def test_the_resolution_says_what_two_results_show_and_what_1_db_needs(
    includes_days: bool, days: str
) -> None:
    resolution = ChangeResolution(smallest_db=2.77, blocks=16, includes_days=includes_days)
    assert resolution_sentence(resolution) == (
        "Two results like this one can show a change of 2.8 dB or more; a smaller one may be due "
        "to chance. Showing a change of 1 dB in 8 of 10 cases takes 16 results before it and 16 "
        f"after it; {days}."
    )


@pytest.mark.parametrize(
    ("low", "high", "verdict"),
    [
        (-1.0, 2.0, "no difference shown (these items can show 3.0 dB or more)"),
        (0.5, 2.0, "harder"),
        (-2.0, -0.5, "easier"),
    ],
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
                smallest_db=2.95,
            ),
        ),
    )
    (sentence,) = comparison_block(result).sentences
    assert sentence == (
        f"1800 compared with 2600: x50 differs by {middle:+.1f} dB "
        f"(95 %: {low:+.1f} to {high:+.1f}): {verdict}."
    )
