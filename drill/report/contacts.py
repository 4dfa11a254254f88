"""The sections of a report about contacts: by power, and session by session."""

from collections.abc import Sequence
from datetime import datetime

from drill.contact.figures import ContactFigures, ContactHistory
from drill.contact.wording import MIN_CONTACTS, figures_table
from drill.core.counting import plural
from drill.core.text_blocks import Table
from drill.psychometrics.intervals import MIN_TREND_BLOCKS, Trend, fit_trend
from drill.report.section import Section
from drill.report.wording import format_percent

_SECONDS_PER_DAY = 86400


def contact_sections(history: ContactHistory) -> list[Section]:
    """Return contacts by power, then by session."""
    total = history.total
    by_power = Section(
        name="contacts",
        heading="Contacts",
        sentences=(_total_sentence(total), _mending_sentence(total)),
        table=figures_table(history.by_power),
    )
    return [by_power, _trend_section(history.sessions)]


def contact_trend(sessions: Sequence[tuple[str, ContactFigures]]) -> Trend | None:
    """Return the trend of the share that is right in both logs; None with too few sessions.

    The share is in per cent, weighted by the standard error of its 95 % interval.
    """
    if len(sessions) < MIN_TREND_BLOCKS:
        return None
    days = [datetime.fromisoformat(at).timestamp() / _SECONDS_PER_DAY for at, _ in sessions]
    if days[-1] <= days[0]:
        return None
    shares = [figures.right_share for _, figures in sessions]
    errors = [100 * (share.high - share.low) / (2 * 1.96) for share in shares]
    return fit_trend(days, [100 * share.value for share in shares], errors)


def _total_sentence(total: ContactFigures) -> str:
    """Return how many contacts are in both logs and right; the share only of enough of them."""
    if total.begun == 1:
        right = "in both logs, and right in both" if total.right else "in both logs, but not right"
        return f"1 contact, {right if total.completed else 'not in both logs'}."
    share = ""
    if total.begun >= MIN_CONTACTS:
        share = f": {format_percent(total.right_share)} %"
    return (
        f"Of {total.begun} contacts, {total.completed} are in both logs, and {total.right} are "
        f"right in both{share}."
    )


def _mending_sentence(total: ContactFigures) -> str:
    if not total.answered:
        return "No far station answered you, so none got your call at all."
    if not total.to_mend:
        return "The far station never got your call wrong."
    return (
        "The far station first got your call wrong or incomplete in "
        f"{plural(total.to_mend, 'contact')}; in {total.mended} of them it was right in the end."
    )


def _trend_section(sessions: Sequence[tuple[str, ContactFigures]]) -> Section:
    """Return the sessions one by one and whether they show a trend."""
    trend = contact_trend(sessions)
    if trend is None:
        sentence = f"A trend needs {MIN_TREND_BLOCKS} sessions of contacts."
    else:
        week = trend.per_week_db
        shown = "no change is shown" if week.low <= 0 <= week.high else "this is more than chance"
        sentence = (
            f"The share that is right in both logs changes by {week.value:+.1f} percentage points "
            f"per week ({week.low:+.1f} to {week.high:+.1f}): {shown}."
        )
    rows = tuple(
        (
            datetime.fromisoformat(started).astimezone().strftime("%Y-%m-%d %H:%M"),
            f"{figures.begun}",
            f"{figures.right}",
            format_percent(figures.right_share) if figures.begun >= MIN_CONTACTS else "too few",
            "" if figures.overs is None else f"{figures.overs:.1f}",
            "" if figures.seconds is None else f"{figures.seconds:.0f}",
        )
        for started, figures in sessions
    )
    return Section(
        name="contact-trend",
        heading="Contacts by session",
        sentences=(sentence, "Sessions with different powers or paths are not comparable."),
        table=Table(
            caption="Contacts by session",
            head=("started", "begun", "right", "share, % (95 %)", "overs", "seconds"),
            rows=rows,
        ),
    )
