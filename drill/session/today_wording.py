"""Sentences about a recommendation, the same in the terminal and on the page."""

from dataclasses import dataclass
from datetime import datetime

from drill.core.counting import plural
from drill.session.costliest_wording import usual_word
from drill.session.evening import DAY_STARTS_HOUR
from drill.session.today import (
    FIRST_MEASUREMENT,
    MISSED,
    NEW,
    OLD_MEASUREMENT,
    OLD_TAKE,
    TOO_HARD,
    MissedCharacter,
    Recommendation,
)

EVENING_HOURS = (*range(18, 24), *range(DAY_STARTS_HOUR))
ANSWERS_TO_NAME_MISSES = 60
"""From about this many answers, each character has been sent LEAST_SENT times on average."""


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
            f"You have heard {plural(recommendation.answered, 'item')}, enough to measure the SNR "
            "at which you copy half of the calls.",
            "Measure",
        ),
        TOO_HARD: (
            "ten minutes of clear calls",
            f"{_easy_score(recommendation)}: {when.lower()} slower and clearer, without noise.",
            "Begin",
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
            f"{_nothing_stands_out(recommendation)} The calls get weaker as you get them right.",
            "Begin",
        ),
    )
    text = TodayText(when=when, title=title, why=why, begin=begin)
    return _as_more(text, recommendation.today) if recommendation.ten_minutes_done else text


def _as_more(text: TodayText, answered: int) -> TodayText:
    """Return a text that offers more, after this many answers today."""
    done = f"You answered {plural(answered, 'item')} today."
    return TodayText(
        when=text.when,
        title="your ten minutes are done",
        why=f"{done} If you like more: {text.title}. {text.why}",
        begin=f"More: {text.title}",
    )


def _easy_score(recommendation: Recommendation) -> str:
    if recommendation.easy is None:
        return "Easy calls were too hard"
    easy = recommendation.easy
    return f"You had {easy.right} of {plural(easy.answered, 'easy item')} right on first hearing"


def _nothing_stands_out(recommendation: Recommendation) -> str:
    if recommendation.answered < ANSWERS_TO_NAME_MISSES:
        return "There are too few answers yet to say what you miss most."
    return "No character that you miss stands out."


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
