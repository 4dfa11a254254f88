"""/api/report: the first sentences and the sections of the report, with pictures as data."""

import threading
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from drill.core.counting import plural
from drill.core.paths import record_file
from drill.core.structuring import to_data
from drill.report.figures import Report, build_report
from drill.report.headlines import headlines
from drill.report.section import Section
from drill.report.sections import report_sections
from drill.report.wording import CONVENTIONS
from drill.web.database import open_record
from drill.web.tables import table_json

EMPTY = (
    "Nothing is recorded yet. A few practice items give the first figures; a measurement gives a "
    "threshold."
)


class ReportCache:
    """The report as JSON, computed again only if the record has changed."""

    def __init__(self) -> None:
        """Start empty."""
        self._lock = threading.Lock()
        self._record_state: tuple[Path, int, list[str], int] | None = None
        self._report: dict[str, Any] = {}

    def report(self) -> dict[str, Any]:
        """Return the report on the record in its current state."""
        with self._lock, open_record() as store:
            times, takes = store.attempt_times(), store.takes(1)
            newest = [str(time) for _, time in times[-1:]] + [time for time, *_ in takes]
            state = (record_file(), len(times), newest, store.machine_copies_made())
            if self._record_state != state:
                self._report = report_json(build_report(store, now=datetime.now(UTC)))
                self._record_state = state
            return self._report


def report_json(report: Report) -> dict[str, Any]:
    """Return a report for the page; "enough" is false if the record is empty.

    "headlines": the first sentences. "missing": what the sections without enough data lack.
    "machine_is_behind": whether a recogniser can still copy items of measurements and comparisons.
    """
    if report.is_empty:
        return {
            "sentence": EMPTY,
            "headlines": [],
            "sections": [],
            "missing": [],
            "enough": False,
            "conventions": [],
            "machine_is_behind": False,
        }
    answers, sessions = plural(report.answered, "answer"), plural(report.sessions, "session")
    sections = report_sections(report)
    return {
        "sentence": f"{answers} in {sessions}, {report.hours:.1f} hours.",
        "headlines": [to_data(headline) for headline in headlines(report)],
        "sections": [_report_section_json(section) for section in sections],
        "missing": [section.missing for section in sections if section.missing],
        "enough": True,
        "conventions": list(CONVENTIONS),
        "machine_is_behind": report.machine_is_behind,
    }


def _report_section_json(section: Section) -> dict[str, Any]:
    """Return one section for the page."""
    return {
        "name": section.name,
        "title": section.heading,
        "sentences": list(section.sentences),
        "tables": [] if section.table is None else [table_json(section.table)],
        "picture": None if section.picture is None else to_data(section.picture),
        "missing": section.missing,
    }
