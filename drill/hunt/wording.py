"""Sentences and tables about a finished hunt, the same in the terminal and on the page."""

from drill.contact.wording import PHASE_NAMES
from drill.core.counting import plural
from drill.core.text_blocks import Table
from drill.hunt.checking import (
    DUPLICATE,
    LOST_THERE,
    NOT_IN_MY_LOG,
    NOT_IN_THEIR_LOG,
    RIGHT,
    WRONG_CALL,
    WRONG_EXCHANGE,
    CheckedContact,
    count_verdicts,
)
from drill.hunt.figures import hunt_figures
from drill.hunt.points import PointRules
from drill.hunt.results import LONGEST_EXPECTED_S, HuntResult, JudgedStop
from drill.hunt.stops import HUNT_PHASES, TUNING

HUNT_PHASE_NAMES = {
    TUNING: "tuning",
    **PHASE_NAMES,
    "waiting": "waiting for a call",
}
VERDICT_NAMES = {
    RIGHT: "in both logs",
    WRONG_CALL: "wrong call",
    WRONG_EXCHANGE: "wrong exchange",
    NOT_IN_THEIR_LOG: "not in their log",
    LOST_THERE: "lost at the other end",
    DUPLICATE: "duplicate",
    NOT_IN_MY_LOG: "not in your log",
}


def minutes_and_seconds(seconds: float) -> str:
    """Return a length of time in words: "40 seconds", "2 minutes"."""
    if seconds < 90:
        return plural(round(seconds), "second")
    return plural(round(seconds / 60), "minute")


def dial_text(hz: float) -> str:
    """Return a frequency in kHz, such as "14 222.0"."""
    whole, tenth = divmod(round(hz / 100), 10)
    return f"{whole // 1000} {whole % 1000:03d}.{tenth}"


def heading_parts(result: HuntResult) -> tuple[str, str]:
    """Return the figure of the heading and the words after it."""
    if not result.logged:
        return "0", "contacts were logged"
    return f"{result.right} of {result.logged}", "contacts are right in both logs"


def lead_sentence(result: HuntResult) -> str:
    """Return the outcome of the contacts in one or two sentences."""
    counts = count_verdicts(result.contacts)
    length = minutes_and_seconds(result.seconds)
    right = plural(result.right, "contact")
    sentence = f"{right} in {length} with {result.watts:g} W."
    faults = [f"{count} {VERDICT_NAMES[name]}" for name, count in counts.items() if name != RIGHT]
    if not result.contacts:
        return f"No contact in {length} with {result.watts:g} W."
    if not faults:
        return f"{sentence} None was lost."
    return f"{sentence} Not counted: {', '.join(faults)}."


def points_sentence(result: HuntResult, rules: PointRules) -> str:
    """Return the points, with the rules."""
    points = result.points
    return (
        f"{rules.title}, an invented contest: {plural(points.points, 'point')} times "
        f"{plural(points.areas, 'area')} is {points.score}. {rules.sentence}"
    )


def verdict_text(contact: CheckedContact) -> str:
    """Return the verdict on a contact in words, with the entry that differs."""
    logs, name = contact.logs, VERDICT_NAMES[contact.verdict]
    if contact.verdict == WRONG_CALL:
        return f"{name}: it was {logs.given_call}"
    if contact.verdict == WRONG_EXCHANGE:
        return f"{name}: it was {logs.given_exchange}"
    if contact.verdict == LOST_THERE:
        theirs = logs.their_exchange if logs.their_call_right else logs.their_call
        return f"{name}: they have {theirs or 'nothing'}"
    return name


def contacts_table(result: HuntResult) -> Table:
    """Return the contacts in the order of the pad."""
    rows = tuple(
        (
            f"{contact.at_s / 60:.0f}",
            contact.logs.my_call or contact.logs.given_call,
            contact.logs.my_exchange or "-",
            dial_text(contact.hz),
            verdict_text(contact),
            f"{points}",
        )
        for contact, points in zip(result.contacts, result.points.each, strict=True)
    )
    return Table(
        caption="Contacts of the hunt",
        head=("minute", "call", "exchange", "kHz", "what became of it", "points"),
        rows=rows,
    )


def quarters_table(result: HuntResult) -> Table:
    """Return the contacts by quarter hour."""
    rows = tuple(
        (f"{15 * index} to {15 * (index + 1)}", f"{quarter.right}", f"{quarter.logged}")
        for index, quarter in enumerate(result.quarters)
    )
    return Table(caption="Contacts by quarter hour", head=("minutes", "right", "logged"), rows=rows)


def times_table(result: HuntResult) -> Table:
    """Return the table of the time spent in each phase."""
    rows = tuple(
        (
            HUNT_PHASE_NAMES[name],
            f"{seconds / 60:.1f}",
            f"{100 * seconds / max(1.0, result.seconds):.0f} %",
        )
        for name, seconds in zip(HUNT_PHASES, result.times_s, strict=True)
    )
    return Table(caption="Where the time went", head=("activity", "minutes", "share"), rows=rows)


def stops_table(result: HuntResult) -> Table:
    """Return the time spent at each station, beside the expected time until it answers."""
    rows = tuple(
        (
            f"{entry.stop.at_s / 60:.0f}",
            entry.call,
            dial_text(entry.stop.hz),
            minutes_and_seconds(entry.stop.seconds),
            f"{entry.stop.calls}",
            _outcome(result, entry),
            expected_text(entry),
            _better(entry),
        )
        for entry in result.stops
        if entry.stop.called_after_s is not None or entry.stop.too_long_s
    )
    return Table(
        caption="Stations called or waited for, beside the expected time until they answer",
        head=("minute", "call", "kHz", "stayed", "calls", "result", "expected", "better then"),
        rows=rows,
    )


def _outcome(result: HuntResult, entry: JudgedStop) -> str:
    if entry.contact is not None:
        return VERDICT_NAMES[result.contacts[entry.contact].verdict]
    return "answered, no contact" if entry.stop.replied else "no answer"


def expected_text(entry: JudgedStop) -> str:
    """Return the expected time until a station answers, with its 80 % bounds; "" if unknown."""
    if not entry.simulated:
        return ""
    if entry.expected_s is None:
        return f"more than {minutes_and_seconds(LONGEST_EXPECTED_S)}"
    text = minutes_and_seconds(entry.expected_s)
    if entry.low_s is None or entry.high_s is None:
        return text
    return f"{text} ({_short(entry.low_s)} to {_short(entry.high_s)})"


def _short(seconds: float) -> str:
    return f"{seconds:.0f} s" if seconds < 90 else f"{seconds / 60:.0f} min"


def _better(entry: JudgedStop) -> str:
    if entry.better is None:
        return ""
    option = entry.better
    return f"{option.call}, {dial_text(option.hz)}: {minutes_and_seconds(option.expected_s)}"


def figures_sentences(result: HuntResult) -> tuple[str, ...]:
    """Return the figures that explain the result."""
    figures = hunt_figures(result)
    sentences = [
        f"You stopped at {plural(figures.stopped_at, 'station')} and called {figures.called} of "
        f"them: {plural(figures.right, 'contact')} that count."
    ]
    if figures.called:
        sentences.append(
            f"By the model, {figures.reachable:.1f} of the {figures.called} would have copied your "
            "call at once if nobody else had called."
        )
    if figures.callers_per_hour is not None and figures.noise_above_db is not None:
        sentences.append(
            f"They had {figures.callers_per_hour:.0f} new callers an hour each, and "
            f"{figures.noise_above_db:+.0f} dB of noise compared with you. This decides most."
        )
    if figures.dry_s is not None:
        sentences.append(
            f"Waiting and calling took {minutes_and_seconds(figures.dry_s)} for each contact."
        )
    if figures.calls_before_leaving is not None:
        sentences.append(
            f"Where nobody answered, you left after {figures.calls_before_leaving:.1f} calls on "
            "average."
        )
    if figures.overs is not None:
        sentences.append(
            f"A contact took {figures.overs:.1f} overs from the answer; correcting took "
            f"{100 * figures.mending_share:.0f} % of the time."
        )
    return tuple(sentences)
