"""The first part of a session's result on the page: figure, sentences, lamps and ruler."""

from datetime import UTC, datetime
from typing import Any

from drill.core.counting import plural
from drill.core.structuring import to_data
from drill.psychometrics.character_threshold import CHARACTER_TARGET, CharacterThreshold
from drill.psychometrics.intervals import Interval
from drill.records.store import Store
from drill.report.pictures import PictureRow, RowsPicture
from drill.report.wording import capitalise_first, format_db
from drill.session.ending import practice_ending
from drill.session.ending_wording import (
    ending_score,
    ending_sentence,
    week_note,
    week_sentence,
)
from drill.session.first_limit import find_first_limit
from drill.session.first_limit_wording import first_limit_sentence
from drill.session.kinds.comparison import Comparison
from drill.session.kinds.first_steps import FirstSteps
from drill.session.kinds.measurement import Measurement
from drill.session.kinds.quick_check import QuickCheck
from drill.session.results import ComparisonResult, MeasurementResult
from drill.session.session import Session
from drill.session.wording import difference_verdict, power_marks_sentence

EndingJson = dict[str, Any]


def session_ending_json(session: Session, store: Store) -> EndingJson | None:
    """Return the first part of a finished session's result; None if its kind has none.

    "figure" and "unit": the result in a few characters, or "title" if it is in words. "lead",
    "note": sentences. "lamps": one lamp for each answer, true if it was right; empty for a
    measurement. "ruler": see _ruler_json, else null. "picture": as in a report, else null.
    """
    kind = session.kind
    if not session.finished or not session.attempts:
        return None
    if isinstance(kind, Measurement):
        result = kind.result(session.attempts, store)
        return None if result is None else _measured(result)
    if isinstance(kind, Comparison):
        return _compared(kind.result(session.attempts))
    if isinstance(kind, QuickCheck):
        return _checked(kind.result(session.attempts))
    return _practised(session, store) if kind.gives_feedback else None


def _ending(**parts: Any) -> EndingJson:
    empty = {"figure": "", "unit": "", "title": "", "lead": "", "note": "", "lamps": []}
    return {**empty, "ruler": None, "picture": None, **parts}


def _practised(session: Session, store: Store) -> EndingJson:
    ending = practice_ending(session.kind.plan, session.attempts, store, now=datetime.now(UTC))
    lead, note = [ending_sentence(ending)], []
    if isinstance(session.kind, FirstSteps):
        limit = find_first_limit(session.attempts)
        lead += [] if limit is None else [first_limit_sentence(limit)]
    if ending.week is not None:
        lead.append(week_sentence(ending.week))
        note.append(week_note(ending.week))
    return _ending(
        figure=ending_score(ending),
        lead=" ".join(lead),
        note=" ".join(note),
        lamps=[attempt.right and not attempt.answer.replays for attempt in session.attempts],
    )


def _measured(result: MeasurementResult) -> EndingJson:
    x50_db = result.estimate.x50_db
    return _ending(
        figure=f"{x50_db.value:+z.1f}",
        unit="dB",
        lead="You copy half of the calls at this SNR. With 95 % confidence x50 is between "
        f"{x50_db.low:+z.1f} and {x50_db.high:+z.1f} dB, from {result.estimate.n} calls.",
        note=power_marks_sentence(result.marks),
        ruler=_ruler_json(result),
    )


def _ruler_json(result: MeasurementResult) -> dict[str, Any]:
    """Return x50 with its interval, and the SNR of each power, in dB."""
    x50_db = result.estimate.x50_db
    marks = [{"watts": mark.watts, "db": mark.snr_db} for mark in result.marks]
    named = ", ".join(f"{mark.watts:g} W at {mark.snr_db:+.1f} dB" for mark in result.marks)
    return {
        "says": f"A scale of SNR. x50 is at {format_db(x50_db)} dB; {named}.",
        "x50_db": [x50_db.value, x50_db.low, x50_db.high],
        "marks": marks,
    }


def _checked(threshold: CharacterThreshold) -> EndingJson:
    interval = threshold.threshold_db
    return _ending(
        figure=f"{interval.value:+z.1f}",
        unit="dB",
        lead=f"At this SNR you copy {100 * CHARACTER_TARGET:.0f} % of the characters. With 95 % "
        f"confidence it is between {interval.low:+z.1f} and {interval.high:+z.1f} dB, from "
        f"{plural(threshold.characters, 'character')} in {plural(threshold.items, 'call')}.",
    )


def _compared(result: ComparisonResult) -> EndingJson | None:
    if not result.differences:
        return None
    verdicts = [
        capitalise_first(difference_verdict(difference)) for difference in result.differences
    ]
    rows = [(difference.label, difference.interval) for difference in result.differences]
    reference = result.differences[0].reference
    values = "; ".join(f"{label}: {format_db(interval)}" for label, interval in rows)
    picture = RowsPicture(
        says=f"SNR needed in addition to {reference}, in dB. {values}.",
        rows=tuple(PictureRow(label=label, interval=_plain(interval)) for label, interval in rows),
        zero_label=reference,
        unit="dB",
    )
    return _ending(title=" ".join(verdicts), picture=to_data(picture))


def _plain(interval: Interval) -> Interval:
    return Interval(value=interval.value, low=interval.low, high=interval.high)
