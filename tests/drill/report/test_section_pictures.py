"""Pictures of a report: the figures of its sections, and none with too little data."""

from dataclasses import replace

import pytest

from drill.psychometrics.intervals import wilson_interval
from drill.report.confusion import ConfusionMatrix
from drill.report.figures import Report, ResponseTime
from drill.report.section_pictures import (
    MOST_ROWS,
    confusion_picture,
    cost_picture,
    curve_picture,
    response_picture,
    sending_picture,
    trend_picture,
)
from drill.sending.history import SendingSummary


def test_a_trend_needs_two_blocks(five_blocks: Report) -> None:
    (group,) = five_blocks.groups
    started = [block.started for block in group.blocks]
    x50s = [estimate.x50_db for estimate in group.estimates]
    assert trend_picture(started[:1], x50s[:1]) is None
    picture = trend_picture(started, x50s)
    assert picture is not None
    assert [point.x for point in picture.points] == [0, 7, 14, 21, 28]
    assert [point.interval.value for point in picture.points] == [x50.value for x50 in x50s]
    assert picture.lower_is_better


def test_a_curve_has_the_data_and_passes_half_at_x50(five_blocks: Report) -> None:
    (group,) = five_blocks.groups
    picture = curve_picture(group.pooled, group.bins)
    assert [point.interval for point in picture.data] == [row.proportion for row in group.bins]
    levels = [point.x for point in picture.curve]
    assert levels == sorted(levels)
    assert picture.x50_db is not None
    nearest = min(picture.curve, key=lambda point: abs(point.x - group.pooled.x50_db.value))
    assert nearest.interval.value == pytest.approx(0.5, abs=0.1)
    assert picture.machine == ()
    assert f"{group.bins[0].right} of {group.bins[0].n}" in picture.says


def test_costs_show_the_labels_that_differ_most(five_blocks: Report) -> None:
    costs = five_blocks.costs["character"]
    picture = cost_picture("character", costs)
    assert picture is not None
    assert picture.rows[0].label == "Q"
    values = [row.interval.value for row in picture.rows]
    assert values == sorted(values, reverse=True)
    assert len(values) <= MOST_ROWS
    known = {label: cost for label, cost in costs if cost.has_enough_data}
    assert {row.label for row in picture.rows} <= known.keys()
    assert cost_picture("character", costs[:1]) is None


def test_confusions_leave_out_characters_sent_too_rarely() -> None:
    counts = {("9", "5"): 12, ("9", "9"): 48, ("N", "M"): 6, ("N", "N"): 34, ("Q", "U"): 5}
    sent = {"9": 60, "N": 40, "Q": 5}
    confusion = ConfusionMatrix(counts=counts, sent=sent, order_errors=0)
    picture = confusion_picture(confusion)
    assert picture is not None
    assert [row.label for row in picture.rows] == ["9 as 5", "N as M"]
    assert picture.rows[0].interval.value == pytest.approx(20)
    assert picture.rows[0].interval.high == pytest.approx(100 * wilson_interval(12, 60).high)
    assert confusion_picture(replace(confusion, counts={("9", "5"): 12})) is None


def test_response_times_need_two_ranges(five_blocks: Report) -> None:
    one = ResponseTime(low_db=0.0, high_db=3.0, n=9, median_s=wilson_interval(1, 2))
    assert response_picture([one]) is None
    picture = response_picture([one, replace(one, low_db=3.0, high_db=6.0)])
    assert picture is not None
    assert [(point.x, point.label) for point in picture.points] == [(1.5, "+0"), (4.5, "+3")]


def test_sending_is_drawn_by_day() -> None:
    days = (("2026-03-01", 4, 2, 60.0), ("2026-03-08", 5, 4, 66.0))
    sending = SendingSummary(takes=9, right=6, days=days, finding_counts=())  # type: ignore[arg-type]
    picture = sending_picture(sending)
    assert picture is not None
    assert [point.x for point in picture.points] == [0.0, 7.0]
    assert [point.interval.value for point in picture.points] == [50.0, 80.0]
    assert sending_picture(replace(sending, days=days[:1])) is None  # type: ignore[arg-type]
