"""The sentences that a report begins with, most important first, each with its interval and n."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime

from drill.contact.figures import ContactFigures
from drill.core.counting import plural
from drill.hunt.figures import HuntSummary
from drill.psychometrics.intervals import (
    Interval,
    Trend,
    change_between_days,
    wilson_interval,
)
from drill.psychometrics.label_costs import LabelCost
from drill.report.confusion import ConfusionMatrix
from drill.report.figures import ComparableBlocks, Report
from drill.report.wording import LABEL_KIND_NAMES, format_percent
from drill.session.costliest_wording import usual_word
from drill.session.weeks import WEEK

MOST_HEADLINES = 3
MIN_CONTACTS = 10
"""Minimum number of contacts with one power for a sentence."""
MIN_TAKES = 10
"""Minimum number of takes of the sending drill for a sentence."""
NAMED_KINDS = ("character", "word", "style")


@dataclass(frozen=True, kw_only=True, slots=True)
class Headline:
    """A sentence in three parts, `before`, `figure` and `after`. note: interval and n."""

    before: str
    figure: str
    after: str
    note: str


def headlines(report: Report) -> list[Headline]:
    """Return at most MOST_HEADLINES sentences, the most important first."""
    return list(_headlines(report))[:MOST_HEADLINES]


def _headlines(report: Report) -> Iterator[Headline]:
    if report.groups:
        yield _group_headline(report.groups[0])
    costliest = _costliest(report)
    if costliest is not None:
        yield _cost_headline(*costliest, report.confusion)
    if report.hunts is not None:
        powers = [power for power in report.hunts.by_power if power.logged >= MIN_CONTACTS]
        if powers:
            yield _hunt_headline(powers[-1])
    if report.contacts is not None:
        figures = [power for power in report.contacts.by_power if power.begun >= MIN_CONTACTS]
        if figures:
            yield _contact_headline(figures[-1])
    if report.sending is not None and report.sending.takes >= MIN_TAKES:
        yield Headline(
            before="You said ",
            figure=f"{report.sending.right} of {plural(report.sending.takes, 'take')}",
            after=" correctly to the end.",
            note="Your own sending, all days together.",
        )


def threshold_headline(
    started: Sequence[datetime],
    x50s: Sequence[Interval],
    *,
    trend: Trend | None,
    tau_db: float,
    calls: int,
) -> Headline:
    """Return x50 of the newest block, and its change since the first one if that is shown.

    started, x50s: of comparable blocks, oldest first. The change is that of the trend line, or from
    the first block to the newest if trend is None. tau_db: day-to-day SD in dB, 0 if it is not
    known. calls: in all blocks.
    """
    newest = x50s[-1]
    interval = f"95 %: {newest.low:+z.1f} to {newest.high:+z.1f} dB"
    blocks = f"{plural(len(x50s), 'measurement block')}, {calls} calls"
    if len(x50s) == 1:
        return _copied_at(newest, ".", f"{interval}, {blocks}.")
    if trend is None:
        change = change_between_days(newest, x50s[0], tau=tau_db)
    else:
        week, weeks = trend.per_week_db, (started[-1] - started[0]) / WEEK
        change = Interval(value=weeks * week.value, low=weeks * week.low, high=weeks * week.high)
    limits = f"{change.low:+z.1f} to {change.high:+z.1f} dB"
    if change.low <= 0 <= change.high:
        note = f"{interval}. No change is shown since the first block ({limits}); {blocks}."
        return _copied_at(newest, ".", note)
    weaker = "weaker" if change.value < 0 else "stronger"
    after = f", {abs(change.value):.1f} dB {weaker} than at the start."
    return _copied_at(newest, after, f"{interval}; change {limits}; {blocks}.")


def _group_headline(group: ComparableBlocks) -> Headline:
    """Return the headline about comparable measurement blocks."""
    pooled = group.pooled
    return threshold_headline(
        [block.started for block in group.blocks],
        [estimate.x50_db for estimate in group.estimates],
        trend=group.trend,
        tau_db=0.0 if pooled.tau_db is None else pooled.tau_db.value,
        calls=pooled.n,
    )


def _copied_at(x50_db: Interval, after: str, note: str) -> Headline:
    figure = f"{x50_db.value:+z.1f} dB"
    return Headline(before="You copy half of the calls at ", figure=figure, after=after, note=note)


def _costliest(report: Report) -> tuple[str, str, LabelCost] | None:
    """Return kind and label with the highest cost that is shown to be above the average."""
    candidates = [
        (kind, label, cost)
        for kind in NAMED_KINDS
        for label, cost in report.costs.get(kind, ())
        if cost.has_enough_data and cost.cost_db.low > 0
    ]
    return max(candidates, key=lambda entry: entry[2].cost_db.value, default=None)


def _cost_headline(kind: str, label: str, cost: LabelCost, confusion: ConfusionMatrix) -> Headline:
    name = f"{label} ({usual_word(label)})" if kind == "character" else label
    typed = _typed_for(label, confusion) if kind == "character" else ""
    mistake = f", most often typed as {typed}" if typed else ""
    return Headline(
        before="",
        figure=name,
        after=f" costs you most: {cost.cost_db.value:.1f} dB more than the average "
        f"{LABEL_KIND_NAMES[kind]}{mistake}.",
        note=f"95 %: {cost.cost_db.low:.1f} to {cost.cost_db.high:.1f} dB, heard in "
        f"{plural(cost.n, 'item')}.",
    )


def _typed_for(character: str, confusion: ConfusionMatrix) -> str:
    """Return the character typed most often for one that was sent, "" if none was twice."""
    errors = [
        (count, typed)
        for (sent, typed), count in confusion.counts.items()
        if sent == character and typed not in (character, "", "?") and count > 1
    ]
    return max(errors, default=(0, ""))[1]


def _hunt_headline(summary: HuntSummary) -> Headline:
    lost = wilson_interval(summary.logged - summary.right, summary.logged)
    return Headline(
        before=f"With {summary.watts:g} W, ",
        figure=f"{summary.logged - summary.right} of {summary.logged}",
        after=" contacts that you logged in hunts are lost.",
        note=f"{format_percent(lost)} %, 95 % interval, from {plural(summary.hunts, 'hunt')}.",
    )


def _contact_headline(figures: ContactFigures) -> Headline:
    return Headline(
        before=f"With {figures.watts:g} W, ",
        figure=f"{figures.right} of {figures.begun}",
        after=" contacts are right in both logs.",
        note=f"{format_percent(figures.right_share)} %, 95 % interval.",
    )
