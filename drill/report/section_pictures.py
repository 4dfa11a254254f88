"""The pictures of a report's sections; None where there is too little data."""

from collections.abc import Sequence
from datetime import datetime

import numpy as np

from drill.core.arrays import FloatArray
from drill.psychometrics.bins import SnrBin
from drill.psychometrics.intervals import Interval, wilson_interval
from drill.psychometrics.label_costs import MIN_OBSERVATIONS, LabelCost
from drill.psychometrics.posterior import Estimate
from drill.report.confusion import ConfusionMatrix
from drill.report.figures import ResponseTime
from drill.report.pictures import (
    CurvePicture,
    PicturePoint,
    PictureRow,
    PointsPicture,
    RowsPicture,
)
from drill.report.wording import format_db, format_percent
from drill.sending.history import SendingSummary
from drill.session.machine import MachineCurve

MIN_POINTS = 2
"""Minimum number of points or rows of a picture."""
MOST_ROWS = 8
CURVE_STEPS = 40
CURVE_MARGIN_DB = 2.0
_SECONDS_PER_DAY = 86400


def trend_picture(started: Sequence[datetime], x50s: Sequence[Interval]) -> PointsPicture | None:
    """Return x50 of measurement blocks over time; started, x50s: oldest first."""
    if len(x50s) < MIN_POINTS:
        return None
    first, last = started[0], started[-1]
    values = "; ".join(
        f"{at.astimezone():%Y-%m-%d}: {format_db(x50)}"
        for at, x50 in zip(started, x50s, strict=True)
    )
    return PointsPicture(
        says=f"x50 in dB of {len(x50s)} measurement blocks, with 95 % intervals. {values}.",
        points=tuple(
            PicturePoint(x=(at - first).total_seconds() / _SECONDS_PER_DAY, interval=_plain(x50))
            for at, x50 in zip(started, x50s, strict=True)
        ),
        unit="dB",
        lower_is_better=True,
        ends=(f"{first.astimezone():%Y-%m-%d}", f"{last.astimezone():%Y-%m-%d}"),
    )


def curve_picture(
    estimate: Estimate, bins: Sequence[SnrBin], machine: MachineCurve | None = None
) -> CurvePicture:
    """Return the fitted curve beside the data."""
    levels = np.linspace(
        bins[0].low_db - CURVE_MARGIN_DB, bins[-1].high_db + CURVE_MARGIN_DB, CURVE_STEPS
    )
    shares = "; ".join(
        f"{row.low_db:+.0f} to {row.high_db:+.0f} dB: {row.right} of {row.n}" for row in bins
    )
    label = (
        ""
        if machine is None
        else f"machine, {len(machine.trials)} of the same calls: not a human score"
    )
    return CurvePicture(
        says=f"Share of calls copied by SNR in 3 kHz, with the fitted curve and its 95 % band. "
        f"{shares}.{f' Dashed: {label}.' if label else ''}",
        curve=_curve_points(estimate, levels),
        data=tuple(
            PicturePoint(x=(row.low_db + row.high_db) / 2, interval=row.proportion) for row in bins
        ),
        x50_db=estimate.x50_db.value,
        machine=() if machine is None else _curve_points(machine.estimate, levels),
        machine_label=label,
    )


def cost_picture(label_kind: str, costs: Sequence[tuple[str, LabelCost]]) -> RowsPicture | None:
    """Return the labels that differ most from the average, highest cost first."""
    known = [(label, cost.cost_db) for label, cost in costs if cost.has_enough_data]
    if len(known) < MIN_POINTS:
        return None
    furthest = sorted(known, key=lambda entry: -abs(entry[1].value))[:MOST_ROWS]
    rows = sorted(furthest, key=lambda entry: -entry[1].value)
    values = "; ".join(f"{label}: {format_db(cost)}" for label, cost in rows)
    return RowsPicture(
        says=f"Cost in dB by {label_kind}, compared with the average. {values}.",
        rows=tuple(PictureRow(label=label, interval=_plain(cost)) for label, cost in rows),
        zero_label="average",
        unit="dB",
    )


def confusion_picture(confusion: ConfusionMatrix) -> RowsPicture | None:
    """Return the most frequent errors, in per cent of how often the character was sent."""
    rows = list[tuple[str, Interval]]()
    for sent, typed, count, total in confusion.most_frequent_errors():
        if sent and total >= MIN_OBSERVATIONS and len(rows) < MOST_ROWS:
            share = wilson_interval(count, total)
            rows.append((f"{sent} as {typed}" if typed else f"{sent} left out", share))
    if len(rows) < MIN_POINTS:
        return None
    values = "; ".join(f"{label}: {format_percent(share)} %" for label, share in rows)
    return RowsPicture(
        says=f"Most frequent errors, in per cent of how often the character was sent. {values}.",
        rows=tuple(PictureRow(label=label, interval=_percent(share)) for label, share in rows),
        zero_label="never",
        unit="%",
    )


def response_picture(response_times: Sequence[ResponseTime]) -> PointsPicture | None:
    """Return the median response time by SNR."""
    if len(response_times) < MIN_POINTS:
        return None
    points = tuple(
        PicturePoint(
            x=(response.low_db + response.high_db) / 2,
            interval=response.median_s,
            label=f"{response.low_db:+.0f}",
        )
        for response in response_times
    )
    values = "; ".join(f"{point.label} dB: {point.interval.value:.1f} s" for point in points)
    return PointsPicture(
        says=f"Median seconds to a right answer by SNR in 3 kHz. {values}.", points=points, unit="s"
    )


def sending_picture(sending: SendingSummary) -> PointsPicture | None:
    """Return the share of takes said correctly, in per cent, by day."""
    if len(sending.days) < MIN_POINTS:
        return None
    days = [datetime.fromisoformat(day) for day, *_ in sending.days]
    shares = [wilson_interval(right, takes) for _, takes, right, _ in sending.days]
    values = "; ".join(f"{day}: {right} of {takes}" for day, takes, right, _ in sending.days)
    return PointsPicture(
        says=f"Takes said correctly, by day. {values}.",
        points=tuple(
            PicturePoint(x=float((day - days[0]).days), interval=_percent(share))
            for day, share in zip(days, shares, strict=True)
        ),
        unit="%",
        whole=True,
        ends=(sending.days[0][0], sending.days[-1][0]),
    )


def _curve_points(estimate: Estimate, levels: FloatArray) -> tuple[PicturePoint, ...]:
    return tuple(
        PicturePoint(x=float(level), interval=_plain(estimate.proportion_correct(float(level))))
        for level in levels
    )


def _plain(quantity: Interval) -> Interval:
    """Return a quantity without its SD."""
    return Interval(value=quantity.value, low=quantity.low, high=quantity.high)


def _percent(share: Interval) -> Interval:
    return Interval(value=100 * share.value, low=100 * share.low, high=100 * share.high)
