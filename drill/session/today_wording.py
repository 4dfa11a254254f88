"""Sentences about a recommendation, the same in the terminal and on the page."""

from dataclasses import dataclass
from datetime import datetime

from drill.core.counting import plural
from drill.session.costliest_wording import usual_word
from drill.session.today import (
    FIRST_MEASUREMENT,
    MISSED,
    NEW,
    OLD_MEASUREMENT,
    OLD_TAKE,
    MissedCharacter,
    Recommendation,
)

EVENING_HOURS = (*range(18, 24), *range(4))


@dataclass(frozen=True, kw_only=True, slots=True)
class TodayText:
    """Texts about a recommendation.

    when: "Today" or "Tonight". title: what to do, in a few words. why: the reason, in sentences.
    begin: label of the button.
    """

    when: str
    title: str
    why: str
    begin: str


def describe_today(recommendation: Recommendation, *, now: datetime) -> TodayText:
    """Return title, reason and label; now: local time, which selects "tonight" or "today"."""
    when = "Tonight" if now.hour in EVENING_HOURS else "Today"
    days = plural(recommendation.days, "day")
    title, why, begin = {
        NEW: (
            "your first ten minutes",
            "First a clear voice, to set the volume by. Then easy calls, then weaker ones, until "
            "you notice where it gets hard.",
            "Hear the first voice",
        ),
        FIRST_MEASUREMENT: (
            "find your limit",
            f"You have copied {plural(recommendation.answered, 'item')}, enough to measure the SNR "
            "at which you copy half of the calls.",
            "Measure",
        ),
        OLD_MEASUREMENT: (
            "measure again",
            f"Your last measurement is {days} old.",
            "Measure",
        ),
        OLD_TAKE: (
            "say your call",
            f"You last practised sending {days} ago.",
            "Speak",
        ),
        MISSED: (
            f"ten minutes on {_subject(recommendation.missed)}",
            f"{_misses(recommendation.missed)} Half of the calls are chosen by what you miss.",
            "Begin",
        ),
    }.get(
        recommendation.reason,
        (
            "ten minutes of calls",
            "Nothing that you miss stands out. The calls get weaker as you get them right.",
            "Begin",
        ),
    )
    return TodayText(when=when, title=title, why=why, begin=begin)


def _subject(missed: MissedCharacter | None) -> str:
    if missed is None:
        return "calls"
    return f"{missed.character} and {missed.typed}" if missed.typed else missed.character


def _misses(missed: MissedCharacter | None) -> str:
    if missed is None:
        return ""
    word = f"{missed.character} ({usual_word(missed.character)})"
    most = f", most often for {missed.typed} ({usual_word(missed.typed)})" if missed.typed else ""
    return f"You missed {word} {missed.missed} times in {missed.sent}{most}."
