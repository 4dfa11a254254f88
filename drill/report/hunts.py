"""The sections of a report about hunts: by power, where the time went, and hunt by hunt."""

from datetime import datetime

from drill.core.counting import plural
from drill.core.text_blocks import Table
from drill.hunt.checking import RIGHT, VERDICTS
from drill.hunt.figures import HuntHistory, HuntSummary
from drill.hunt.stops import HUNT_PHASES
from drill.hunt.wording import HUNT_PHASE_NAMES, VERDICT_NAMES, minutes_and_seconds
from drill.psychometrics.intervals import Interval
from drill.report.pictures import PictureRow, RowsPicture
from drill.report.section import Section
from drill.report.wording import format_percent

LUCK_SENTENCE = (
    "Luck alone makes the number of contacts of equal hunts vary, with a standard deviation of "
    "about three quarters of the root of their mean: an hour with 16 contacts and one with 24 may "
    "be equally good. Only hunts on the same bands are comparable."
)


def hunt_sections(history: HuntHistory) -> list[Section]:
    """Return hunts by power, where their time went, then hunt by hunt."""
    return [_power_section(history), _time_section(history), _list_section(history)]


def _power_section(history: HuntHistory) -> Section:
    total, by_power = history.total, history.by_power
    sentences = [
        f"In {plural(total.hunts, 'hunt')} of {total.hours:.1f} hours in all, {total.right} of "
        f"{plural(total.logged, 'logged contact')} count.",
        *(_rate_sentence(summary) for summary in by_power),
        LUCK_SENTENCE,
    ]
    says = "; ".join(f"{_watts(s)}: {_rate(s.per_hour)} contacts an hour" for s in by_power)
    return Section(
        name="hunts",
        heading="Hunts by power",
        sentences=tuple(sentences),
        table=_power_table(history),
        picture=RowsPicture(
            says=f"Contacts that count in an hour. {says}.",
            rows=tuple(PictureRow(label=_watts(s), interval=s.per_hour) for s in by_power),
            zero_label="0",
            unit="an hour",
        ),
    )


def _power_table(history: HuntHistory) -> Table:
    lost = [name for name in VERDICTS if name != RIGHT]
    rows = tuple(
        (
            _watts(summary),
            f"{summary.hunts}",
            f"{summary.hours:.1f}",
            _rate(summary.per_hour),
            f"{summary.right}",
            f"{summary.logged}",
            *(f"{summary.verdicts[VERDICTS.index(name)]}" for name in lost),
            "" if summary.lost_share is None else format_percent(summary.lost_share),
            "" if summary.dry_s is None else f"{summary.dry_s:.0f}",
        )
        for summary in (*history.by_power, history.total)
    )
    return Table(
        caption="Hunts by power",
        head=(
            "power",
            "hunts",
            "hours",
            "right per hour (95 %)",
            "right",
            "logged",
            *(VERDICT_NAMES[name] for name in lost),
            "not counted, % (95 %)",
            "waiting and calling per contact, s",
        ),
        rows=rows,
    )


def _time_section(history: HuntHistory) -> Section:
    total = history.total
    place = max(range(len(HUNT_PHASES)), key=lambda index: total.times_s[index])
    longest = HUNT_PHASE_NAMES[HUNT_PHASES[place]]
    share = total.times_s[place] / max(1.0, sum(total.times_s))
    rows = tuple(
        (
            HUNT_PHASE_NAMES[name],
            *(
                f"{100 * summary.times_s[index] / max(1.0, sum(summary.times_s)):.0f} %"
                for summary in (*history.by_power, total)
            ),
        )
        for index, name in enumerate(HUNT_PHASES)
    )
    return Section(
        name="hunt-time",
        heading="Where the time of the hunts went",
        sentences=(f"Most of the time went into {longest}: {100 * share:.0f} %.",),
        table=Table(
            caption="Where the time of the hunts went",
            head=("activity", *(_watts(summary) for summary in (*history.by_power, total))),
            rows=rows,
        ),
    )


def _list_section(history: HuntHistory) -> Section:
    rows = tuple(
        (
            datetime.fromisoformat(started).astimezone().strftime("%Y-%m-%d %H:%M"),
            ", ".join(result.bands),
            f"{result.watts:g} W",
            minutes_and_seconds(result.seconds),
            f"{result.right}",
            f"{result.logged}",
            f"{result.points.points}",
            f"{result.points.areas}",
            f"{result.points.score}",
        )
        for started, result in history.hunts
    )
    best = max(history.hunts, key=lambda entry: entry[1].points.score)
    when = datetime.fromisoformat(best[0]).astimezone().strftime("%Y-%m-%d")
    head = ("started", "bands", "power", "length", "right", "logged", "points", "areas", "score")
    return Section(
        name="hunt-list",
        heading="Hunt by hunt",
        sentences=(f"The best score is {best[1].points.score}, of {when}.",),
        table=Table(caption="Hunt by hunt", head=head, rows=rows),
    )


def _rate_sentence(summary: HuntSummary) -> str:
    return (
        f"With {_watts(summary)}: {_rate(summary.per_hour)} contacts an hour that count, from "
        f"{plural(summary.hunts, 'hunt')}."
    )


def _rate(interval: Interval) -> str:
    return f"{interval.value:.1f} ({interval.low:.1f} to {interval.high:.1f})"


def _watts(summary: HuntSummary) -> str:
    return "all" if summary.watts is None else f"{summary.watts:g} W"
