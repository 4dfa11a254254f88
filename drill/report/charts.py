"""The charts of a report: matplotlib, as SVG for the page and as PNG files beside it.

Every chart has a title that says what it shows; the page sets a sentence and a table beside it.
"""

import io
from collections.abc import Sequence
from datetime import datetime
from typing import TYPE_CHECKING

import numpy as np

from drill.psychometrics.intervals import wilson
from drill.psychometrics.label_costs import Offset
from drill.report.figures import NOTHING, Confusion, Kind, Response
from drill.sending.history import Tally

if TYPE_CHECKING:
    from matplotlib.figure import Figure

INK, SOFT, SECOND = "#1b4965", "#8fb3c9", "#b4540a"
MOST_BARS = 30
ORDER = "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789/"
# Characters whose words or shapes are mixed up stand side by side; common practice, no source.
SIDE_BY_SIDE = "BDEPTVGCZ3MNFSXAHJK8QUWIY59LR0O1247" + "6/"


def figure(width: float = 8, height: float = 4) -> "Figure":
    """Return an empty figure that belongs to no screen."""
    from matplotlib.figure import Figure

    return Figure(figsize=(width, height), layout="constrained")


def svg(chart: "Figure", title: str) -> str:
    """Return a chart as an SVG element that a screen reader names by its title."""
    import matplotlib

    out = io.StringIO()
    # Text stays text: it can be read, found and scaled.
    with matplotlib.rc_context({"svg.fonttype": "none"}):
        chart.savefig(out, format="svg", metadata={"Date": None, "Title": title})
    # What lies where is settled now; drawing it once more as a picture need not think again.
    chart.set_layout_engine("none")
    text = out.getvalue()
    text = text[text.index("<svg") :]
    safe = title.replace("&", "&amp;").replace('"', "&quot;").replace("<", "&lt;")
    return text.replace("<svg", f'<svg role="img" aria-label="{safe}"', 1)


def png(chart: "Figure") -> bytes:
    """Return a chart as a PNG file."""
    out = io.BytesIO()
    chart.savefig(out, format="png", dpi=110)
    return out.getvalue()


def trend_chart(kind: Kind) -> "Figure":
    """Draw x50 and x80 of every block with its interval over time."""
    chart = figure()
    axes = chart.subplots()
    when = [block.started for block in kind.blocks]
    for name, colour, marker in (("x50_db", INK, "o"), ("x80_db", SECOND, "s")):
        found = [getattr(estimate, name) for estimate in kind.estimates]
        values = [quantity.value for quantity in found]
        spans = [[q.value - q.low for q in found], [q.high - q.value for q in found]]
        axes.errorbar(
            when,  # type: ignore[arg-type]
            values,
            yerr=spans,
            fmt=marker,
            color=colour,
            capsize=3,
            label=name[:3],
        )
    if kind.trend is not None:
        _line(axes, when, kind)
    axes.set(ylabel="SNR in 3 kHz, dB", title="Thresholds of the measuring blocks, 95 % intervals")
    axes.legend()
    axes.grid(alpha=0.3)
    chart.autofmt_xdate()
    return chart


def _line(axes: "object", when: Sequence[datetime], kind: Kind) -> None:
    """Draw the trend through x50."""
    assert kind.trend is not None
    days = np.array([moment.timestamp() / 86400 for moment in when])
    middle = float(np.mean([e.x50_db.value for e in kind.estimates]))
    line = middle + kind.trend.per_week_db.value * (days - days.mean()) / 7
    axes.plot(when, line, color=SOFT, linewidth=1.5, zorder=0)  # type: ignore[attr-defined]


def curve_chart(kind: Kind) -> "Figure":
    """Draw the pooled curve with its band and the shares that it was fitted to."""
    chart = figure()
    axes = chart.subplots()
    estimate = kind.together
    levels = np.linspace(kind.curve[0].low_db - 2, kind.curve[-1].high_db + 2, 80)
    band = [estimate.share(float(level)) for level in levels]
    axes.fill_between(
        levels, [b.low for b in band], [b.high for b in band], color=SOFT, alpha=0.4, linewidth=0
    )
    axes.plot(levels, [b.value for b in band], color=INK)
    middle = [(row.low_db + row.high_db) / 2 for row in kind.curve]
    axes.errorbar(
        middle,
        [row.share.value for row in kind.curve],
        yerr=[
            [max(0.0, row.share.value - row.share.low) for row in kind.curve],
            [max(0.0, row.share.high - row.share.value) for row in kind.curve],
        ],
        fmt="o",
        color=SECOND,
        capsize=3,
    )
    for row, x in zip(kind.curve, middle, strict=True):
        axes.annotate(f"{row.n}", (x, 1.03), ha="center", fontsize=8)
    axes.set(
        xlabel="SNR in 3 kHz, dB",
        ylabel="share of calls copied",
        ylim=(-0.02, 1.1),
        title="Copied calls against SNR: curve, 95 % band, shares and their number",
    )
    axes.grid(alpha=0.3)
    return chart


def confusion_chart(confusion: Confusion) -> "Figure":
    """Draw what was typed in place of what was sent, as shares of each sent."""
    present = {a for a, _ in confusion.counts} | {b for _, b in confusion.counts}
    symbols = [c for c in SIDE_BY_SIDE if c in present]
    rows = [*symbols, NOTHING]
    columns = [*symbols, "?", NOTHING]
    share = np.zeros((len(rows), len(columns)))
    share[range(len(symbols)), range(len(symbols))] = np.nan
    for (sent, typed), n in confusion.counts.items():
        if sent != typed and sent in rows and typed in columns:
            of = confusion.sent.get(sent, 0) or sum(
                m for (a, _), m in confusion.counts.items() if a == sent
            )
            share[rows.index(sent), columns.index(typed)] = n / of
    chart = figure(9, 8)
    axes = chart.subplots()
    # Right ones are left blank: they would outshine what is to be seen.
    top = max(0.05, float(np.nanmax(share)))
    image = axes.imshow(share, cmap="cividis", vmin=0, vmax=top, aspect="auto")
    chart.colorbar(image, ax=axes, label="share of what was sent")
    axes.set_xticks(range(len(columns)), [c or "none" for c in columns], fontsize=8)
    axes.set_yticks(range(len(rows)), [c or "none" for c in rows], fontsize=8)
    axes.set(xlabel="typed", ylabel="sent", title="What was typed in place of what was sent")
    return chart


def cost_chart(kind: str, found: Sequence[tuple[str, Offset]]) -> "Figure":
    """Draw what each label costs in dB, with intervals; only those heard often enough."""
    named = [entry for entry in found if entry[1].enough][:MOST_BARS]
    shown = [offset for _, offset in named]
    chart = figure(8, 1.5 + 0.28 * max(len(shown), 3))
    axes = chart.subplots()
    at = np.arange(len(shown))[::-1]
    axes.errorbar(
        [o.cost_db.value for o in shown],
        at,
        xerr=[
            [max(0.0, o.cost_db.value - o.cost_db.low) for o in shown],
            [max(0.0, o.cost_db.high - o.cost_db.value) for o in shown],
        ],
        fmt="o",
        color=INK,
        capsize=3,
    )
    axes.axvline(0, color="#888888", linewidth=0.8)
    axes.set_yticks(at, [f"{label} ({o.n})" for label, o in named], fontsize=8)
    axes.set(xlabel="dB more than the average needs", title=f"What each {kind} costs")
    axes.grid(alpha=0.3, axis="x")
    return chart


def spoken_chart(found: Tally) -> "Figure":
    """Draw what share of the takes of a day was said rightly, and the pace."""
    chart = figure(8, 4)
    axes, below = chart.subplots(2, sharex=True)
    days = [day for day, *_ in found.days]
    shares = [wilson(right, takes) for _, takes, right, _ in found.days]
    axes.errorbar(
        days,
        [share.value for share in shares],
        yerr=[
            [max(0.0, share.value - share.low) for share in shares],
            [max(0.0, share.high - share.value) for share in shares],
        ],
        fmt="o",
        color=INK,
        capsize=3,
    )
    axes.set(ylabel="share said rightly", ylim=(-0.02, 1.05), title="Your own sending, day by day")
    below.plot(days, [pace for *_, pace in found.days], "s-", color=SECOND)
    below.set(ylabel="words a minute")
    below.set_ylim(0, 1.2 * max(1.0, *(pace for *_, pace in found.days)))
    for each in (axes, below):
        each.grid(alpha=0.3)
    chart.autofmt_xdate()
    return chart


def response_chart(found: Sequence[Response]) -> "Figure":
    """Draw the median response time of right answers against SNR."""
    chart = figure(8, 3)
    axes = chart.subplots()
    axes.errorbar(
        [(r.low_db + r.high_db) / 2 for r in found],
        [r.median_s.value for r in found],
        yerr=[
            [r.median_s.value - r.median_s.low for r in found],
            [r.median_s.high - r.median_s.value for r in found],
        ],
        fmt="o-",
        color=INK,
        capsize=3,
    )
    axes.set(
        xlabel="SNR in 3 kHz, dB",
        ylabel="seconds",
        title="Time from the end of the sound to the answer, right ones",
    )
    axes.set_ylim(bottom=0)
    axes.grid(alpha=0.3)
    return chart
