"""The charts of a report, drawn with matplotlib.

Every chart has a title that says what it shows. The page adds a sentence and a table.
"""

import html
import io
from collections.abc import Sequence
from datetime import datetime
from typing import TYPE_CHECKING

import numpy as np

from drill.core.arrays import FloatArray
from drill.core.chart_colours import CHART_FIRST, CHART_RULE, CHART_SECOND, CHART_SOFT
from drill.psychometrics.intervals import Interval, wilson_interval
from drill.psychometrics.label_costs import LabelCost
from drill.report.confusion import GAP, ConfusionMatrix
from drill.report.figures import ComparableBlocks, ResponseTime
from drill.sending.history import SendingSummary
from drill.session.machine import MachineCurve

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

MAX_COST_ROWS = 30
CONFUSION_ORDER = "BDEPTVGCZ3MNFSXAHJK8QUWIY59LR0O12476/"
"""Characters in the order of the confusion chart: those confused by sound or shape are neighbours.
Common practice, no source."""


def empty_figure(width: float = 8, height: float = 4) -> "Figure":
    """Return an empty figure that is not attached to any screen; sizes in inches."""
    from matplotlib.figure import Figure

    return Figure(figsize=(width, height), layout="constrained")


def chart_svg(chart: "Figure", title: str) -> str:
    """Return a chart as an SVG element; title: its name for screen readers."""
    import matplotlib

    if (layout := chart.get_layout_engine()) is not None:
        # Compute the layout once. Saving with a layout engine draws the chart twice.
        layout.execute(chart)
        chart.set_layout_engine(None)
    out = io.StringIO()
    # Keep text as text instead of outlines, so that it can be read aloud, searched and scaled.
    with matplotlib.rc_context({"svg.fonttype": "none"}):
        chart.savefig(out, format="svg", metadata={"Date": None, "Title": title})
    svg = out.getvalue()
    svg = svg[svg.index("<svg") :]
    label = html.escape(title)
    return svg.replace("<svg", f'<svg role="img" aria-label="{label}"', 1)


def chart_png(chart: "Figure") -> bytes:
    """Return a chart as a PNG file."""
    out = io.BytesIO()
    chart.savefig(out, format="png", dpi=110)
    return out.getvalue()


def _error_bars(intervals: Sequence[Interval]) -> list[list[float]]:
    """Return the lower and upper half-widths as matplotlib expects them."""
    # An interval limit can differ from the value by a rounding error; matplotlib rejects that.
    return [
        [max(0.0, interval.value - interval.low) for interval in intervals],
        [max(0.0, interval.high - interval.value) for interval in intervals],
    ]


def trend_chart(group: ComparableBlocks) -> "Figure":
    """Return x50 and x80 of every block with intervals over time, and the trend line."""
    chart = empty_figure()
    axes = chart.subplots()
    started = [block.started for block in group.blocks]
    x50 = [estimate.x50_db for estimate in group.estimates]
    x80 = [estimate.x80_db for estimate in group.estimates]
    for label, quantities, colour, marker in (
        ("x50", x50, CHART_FIRST, "o"),
        ("x80", x80, CHART_SECOND, "s"),
    ):
        axes.errorbar(
            started,  # type: ignore[arg-type]
            [quantity.value for quantity in quantities],
            yerr=_error_bars(quantities),
            fmt=marker,
            color=colour,
            capsize=3,
            label=label,
        )
    if group.trend is not None:
        mean_db = float(np.mean([quantity.value for quantity in x50]))
        _draw_trend_line(axes, started, mean_db, group.trend.per_week_db.value)
    axes.set(
        ylabel="SNR in 3 kHz, dB", title="Thresholds of the measurement blocks, 95 % intervals"
    )
    axes.legend()
    axes.grid(alpha=0.3)
    chart.autofmt_xdate()
    return chart


def _draw_trend_line(
    axes: "Axes", times: Sequence[datetime], mean_db: float, per_week_db: float
) -> None:
    """Draw a line of this slope through the mean threshold at the mean time."""
    days = np.array([time.timestamp() / 86400 for time in times])
    line = mean_db + per_week_db * (days - days.mean()) / 7
    axes.plot(times, line, color=CHART_SOFT, linewidth=1.5, zorder=0)  # type: ignore[arg-type]


def curve_chart(group: ComparableBlocks) -> "Figure":
    """Return the pooled curve with its 95 % band and the observed proportions.

    If a machine copied the same items, its curve is drawn as a dashed line.
    """
    chart = empty_figure()
    axes = chart.subplots()
    levels = np.linspace(group.bins[0].low_db - 2, group.bins[-1].high_db + 2, 80)
    band = [group.pooled.proportion_correct(float(level)) for level in levels]
    axes.fill_between(
        levels,
        [b.low for b in band],
        [b.high for b in band],
        color=CHART_SOFT,
        alpha=0.4,
        linewidth=0,
    )
    axes.plot(
        levels, [b.value for b in band], color=CHART_FIRST, label=f"you, {group.pooled.n} calls"
    )
    if group.machine is not None:
        _draw_machine_curve(axes, levels, group.machine)
    proportions = [snr_bin.proportion for snr_bin in group.bins]
    centres = [(snr_bin.low_db + snr_bin.high_db) / 2 for snr_bin in group.bins]
    axes.errorbar(
        centres,
        [proportion.value for proportion in proportions],
        yerr=_error_bars(proportions),
        fmt="o",
        color=CHART_FIRST,
        capsize=3,
    )
    for snr_bin, centre in zip(group.bins, centres, strict=True):
        axes.annotate(f"{snr_bin.n}", (centre, 1.03), ha="center", fontsize=8)
    axes.set(
        xlabel="SNR in 3 kHz, dB",
        ylabel="share of calls copied",
        ylim=(-0.02, 1.1),
        title="Calls copied by SNR: curve with 95 % band, data with number of calls",
    )
    axes.grid(alpha=0.3)
    return chart


def _draw_machine_curve(axes: "Axes", levels: FloatArray, machine: MachineCurve) -> None:
    """Draw the curve of the machine, and name both curves."""
    axes.plot(
        levels,
        [machine.estimate.proportion_correct(float(level)).value for level in levels],
        color=CHART_SECOND,
        linestyle="dashed",
        label=f"machine, {len(machine.trials)} of the same calls: not a human score",
    )
    axes.legend(loc="lower right")


def confusion_chart(confusion: ConfusionMatrix) -> "Figure":
    """Return a heat map of the characters typed in place of each character sent.

    The shares refer to how often the character was sent; for insertions, to all insertions.
    """
    present = {a for a, _ in confusion.counts} | {b for _, b in confusion.counts}
    symbols = [character for character in CONFUSION_ORDER if character in present]
    rows = [*symbols, GAP]
    columns = [*symbols, "?", GAP]
    insertions = sum(n for (sent, _), n in confusion.counts.items() if sent == GAP)
    shares = np.zeros((len(rows), len(columns)))
    # Correct characters are left blank, because they would dominate the colour scale.
    shares[range(len(symbols)), range(len(symbols))] = np.nan
    for (sent, typed), n in confusion.counts.items():
        if sent != typed and sent in rows and typed in columns:
            total = confusion.sent.get(sent, insertions)
            shares[rows.index(sent), columns.index(typed)] = n / total
    chart = empty_figure(9, 8)
    axes = chart.subplots()
    top = max(0.05, float(np.nanmax(shares)))
    image = axes.imshow(shares, cmap="cividis", vmin=0, vmax=top, aspect="auto")
    chart.colorbar(image, ax=axes, label="share of what was sent")
    axes.set_xticks(range(len(columns)), [c or "none" for c in columns], fontsize=8)
    axes.set_yticks(range(len(rows)), [c or "none" for c in rows], fontsize=8)
    axes.set(xlabel="typed", ylabel="sent", title="What was typed instead of what was sent")
    return chart


def cost_chart(kind: str, costs: Sequence[tuple[str, LabelCost]]) -> "Figure":
    """Return the cost of each label that has enough data, with its interval.

    kind: what the labels are, for the title. costs: highest first; the first MAX_COST_ROWS are
    shown.
    """
    shown = [(label, cost) for label, cost in costs if cost.has_enough_data][:MAX_COST_ROWS]
    quantities = [cost.cost_db for _, cost in shown]
    chart = empty_figure(8, 1.5 + 0.28 * max(len(shown), 3))
    axes = chart.subplots()
    positions = np.arange(len(shown))[::-1]
    axes.errorbar(
        [quantity.value for quantity in quantities],
        positions,
        xerr=_error_bars(quantities),
        fmt="o",
        color=CHART_FIRST,
        capsize=3,
    )
    axes.axvline(0, color=CHART_RULE, linewidth=0.8)
    axes.set_yticks(positions, [f"{label} ({cost.n})" for label, cost in shown], fontsize=8)
    axes.set(xlabel="dB more than the average", title=f"Cost by {kind}")
    axes.grid(alpha=0.3, axis="x")
    return chart


def sending_chart(sending: SendingSummary) -> "Figure":
    """Return the share of takes said correctly and the speaking rate, by day."""
    chart = empty_figure(8, 4)
    upper, lower = chart.subplots(2, sharex=True)
    days = [day for day, *_ in sending.days]
    shares = [wilson_interval(right, takes) for _, takes, right, _ in sending.days]
    upper.errorbar(
        days,
        [share.value for share in shares],
        yerr=_error_bars(shares),
        fmt="o",
        color=CHART_FIRST,
        capsize=3,
    )
    upper.set(
        ylabel="share said correctly", ylim=(-0.02, 1.05), title="Your own sending, day by day"
    )
    words_per_minute = [rate for *_, rate in sending.days]
    lower.plot(days, words_per_minute, "s-", color=CHART_SECOND)
    lower.set(ylabel="words per minute")
    lower.set_ylim(0, 1.2 * max(1.0, *words_per_minute))
    for axes in (upper, lower):
        axes.grid(alpha=0.3)
    chart.autofmt_xdate()
    return chart


def response_chart(response_times: Sequence[ResponseTime]) -> "Figure":
    """Return the median response time of right answers by SNR."""
    chart = empty_figure(8, 3)
    axes = chart.subplots()
    medians = [response.median_s for response in response_times]
    axes.errorbar(
        [(response.low_db + response.high_db) / 2 for response in response_times],
        [median.value for median in medians],
        yerr=_error_bars(medians),
        fmt="o-",
        color=CHART_FIRST,
        capsize=3,
    )
    axes.set(
        xlabel="SNR in 3 kHz, dB",
        ylabel="seconds",
        title="Time from the end of the audio to a right answer",
    )
    axes.set_ylim(bottom=0)
    axes.grid(alpha=0.3)
    return chart
