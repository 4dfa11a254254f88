"""The sentences that a report begins with."""

from dataclasses import replace
from datetime import timedelta

import pytest

from drill.contact.figures import ContactFigures, ContactHistory
from drill.hunt.figures import HuntHistory, HuntSummary
from drill.psychometrics.intervals import Interval, Trend
from drill.report.figures import Report
from drill.report.headlines import headlines, threshold_headline
from tests.drill.simulated_trainee import START


def db(value: float, half_width: float = 1.0) -> Interval:
    return Interval(value=value, low=value - half_width, high=value + half_width)


DAYS = [START + timedelta(days=7 * week) for week in range(5)]


def threshold(*values: float, tau_db: float = 0.0, trend: Trend | None = None) -> tuple[str, str]:
    headline = threshold_headline(
        DAYS[: len(values)], [db(v) for v in values], trend=trend, tau_db=tau_db, calls=120
    )
    return headline.before + headline.figure + headline.after, headline.note


def test_one_block_shows_no_change() -> None:
    assert threshold(-4.06) == (
        "You copy half of the calls at -4.1 dB.",
        "95 %: -5.1 to -3.1 dB, 1 measurement block, 120 calls.",
    )


def test_a_change_beyond_its_interval_is_reported() -> None:
    sentence, note = threshold(-1.0, -4.0)
    assert sentence == "You copy half of the calls at -4.0 dB, 3.0 dB weaker than at the start."
    assert "change -4.4 to -1.6 dB" in note
    assert threshold(-4.0, -1.0)[0].endswith("3.0 dB stronger than at the start.")


def test_a_change_within_its_interval_is_not_reported_as_progress() -> None:
    sentence, note = threshold(-3.0, -4.0)
    assert sentence == "You copy half of the calls at -4.0 dB."
    assert "No change is shown since the first block (-2.4 to +0.4 dB)" in note
    # The variation between days widens the interval until 3 dB are no longer enough.
    assert "No change is shown" in threshold(-1.0, -4.0, tau_db=1.0)[1]


def test_a_trend_is_reported_over_the_whole_time() -> None:
    trend = Trend(per_week_db=db(-0.5, 0.2), tau_db=0.3, blocks=5)
    sentence, note = threshold(-2.0, -2.2, -3.0, -3.6, -4.0, trend=trend)
    assert sentence.endswith("2.0 dB weaker than at the start.")
    assert "change -2.8 to -1.2 dB" in note


def test_a_report_names_threshold_and_what_costs_most(five_blocks: Report) -> None:
    """The trainee of this report needs 4 dB more for Q and does not change."""
    first, second = headlines(five_blocks)
    assert "No change is shown" in first.note
    assert second.figure in ("Q (quebec)", "quebec")
    cost_db = float(second.after.split(" dB")[0].rpartition(" ")[2])
    assert cost_db == pytest.approx(4.0, abs=1.5)


def test_contacts_are_reported_for_the_lowest_power_with_enough_of_them(
    five_blocks: Report,
) -> None:
    def figures(watts: float | None, begun: int, right: int) -> ContactFigures:
        return ContactFigures(
            watts=watts,
            begun=begun,
            answered=begun,
            completed=begun,
            right=right,
            to_mend=0,
            mended=0,
            overs=4.0,
            seconds=20.0,
        )

    powers = (figures(100.0, 40, 39), figures(5.0, 54, 42))
    contacts = ContactHistory(total=figures(None, 94, 81), by_power=powers, sessions=())
    third = headlines(replace(five_blocks, contacts=contacts))[2]
    assert third.before + third.figure + third.after == (
        "With 5 W, 42 of 54 contacts are right in both logs."
    )
    # Wilson score interval of 42 of 54: 65 to 87 %.
    assert third.note == "78 (65 to 87) %, 95 % interval."


def test_hunts_come_before_contacts_and_count_what_was_lost(five_blocks: Report) -> None:
    """Wilson score interval of 12 of 54: 13 to 35 %."""
    powers = tuple(
        HuntSummary(
            watts=watts,
            hunts=4,
            hours=4.0,
            right=right,
            logged=logged,
            verdicts=(),
            dry_s=None,
            times_s=(),
        )
        for watts, right, logged in ((100.0, 80, 84), (5.0, 42, 54), (1.0, 1, 3))
    )
    hunts = HuntHistory(total=powers[0], by_power=powers, hunts=())
    third = headlines(replace(five_blocks, hunts=hunts))[2]
    assert third.before + third.figure + third.after == (
        "With 5 W, 12 of 54 contacts that you logged in hunts are lost."
    )
    assert third.note == "22 (13 to 35) %, 95 % interval, from 4 hunts."


def test_an_empty_report_has_no_sentences(five_blocks: Report) -> None:
    assert headlines(replace(five_blocks, groups=(), costs={})) == []
