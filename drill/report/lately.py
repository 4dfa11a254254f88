"""The record on the start page: x50 by block, and when each drill was last done."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from drill.core.counting import plural
from drill.psychometrics.intervals import MIN_TREND_BLOCKS, Quantity, Trend, fit_trend
from drill.psychometrics.posterior import threshold_interval
from drill.records.store import Store
from drill.report.headlines import Headline, threshold_headline
from drill.report.pictures import PointsPicture
from drill.report.section_pictures import trend_picture
from drill.session.blocks import MeasurementBlock, comparable_setup, measurement_blocks

MOST_BLOCKS = 12
"""Maximum number of comparable blocks that are shown, the newest ones."""
NEVER = "Not done yet."
_SECONDS_PER_DAY = 86400


@dataclass(frozen=True, kw_only=True)
class Lately:
    """headline, picture: of the newest comparable measurement blocks, None without any.

    measured, spoken, contacts, hunted: sentences that say when each was last done.
    """

    headline: Headline | None
    picture: PointsPicture | None
    measured: str
    spoken: str
    contacts: str
    hunted: str


def lately(store: Store, *, now: datetime) -> Lately:
    """Return this part of the record. now: with the time zone in which days are counted."""
    blocks = measurement_blocks(store)
    takes, contacts, hunts = store.takes(1), store.contact_sessions(1), list(store.hunts(1))
    headline, picture = _thresholds(blocks)
    return Lately(
        headline=headline,
        picture=picture,
        measured=when_last(blocks[-1].started if blocks else None, now=now),
        spoken=when_last(datetime.fromisoformat(takes[0][0]) if takes else None, now=now),
        contacts=when_last(
            datetime.fromisoformat(contacts[0].started) if contacts else None, now=now
        ),
        hunted=when_last(datetime.fromisoformat(hunts[0].started) if hunts else None, now=now),
    )


def when_last(moment: datetime | None, *, now: datetime) -> str:
    """Return a sentence with the days since something was last done. moment: None for never."""
    if moment is None:
        return NEVER
    days = (now.date() - moment.astimezone(now.tzinfo).date()).days
    if days < 1:
        return "Last: today."
    return "Last: yesterday." if days == 1 else f"Last: {plural(days, 'day')} ago."


def _thresholds(
    blocks: Sequence[MeasurementBlock],
) -> tuple[Headline | None, PointsPicture | None]:
    """Return sentence and picture of the blocks that are comparable with the newest one."""
    if not blocks:
        return None, None
    setup = comparable_setup(blocks[-1].plan)
    shown = [block for block in blocks if comparable_setup(block.plan) == setup][-MOST_BLOCKS:]
    started = [block.started for block in shown]
    x50s = [
        threshold_interval(block.trials, block.placement.prior.for_estimates()) for block in shown
    ]
    calls = sum(len(block.trials) for block in shown)
    trend = _trend(started, x50s)
    headline = threshold_headline(started, x50s, trend=trend, tau_db=0.0, calls=calls)
    return headline, trend_picture(started, x50s)


def _trend(started: Sequence[datetime], x50s: Sequence[Quantity]) -> Trend | None:
    days = [moment.timestamp() / _SECONDS_PER_DAY for moment in started]
    if len(days) < MIN_TREND_BLOCKS or days[-1] <= days[0]:
        return None
    return fit_trend(days, [x50.value for x50 in x50s], [x50.sd for x50 in x50s])
