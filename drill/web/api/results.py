"""The JSON of a session's result: its ending, sentences, tables and the curve of a measurement."""

from datetime import datetime
from typing import Any

from drill.core.structuring import to_data
from drill.core.text_blocks import Passage
from drill.psychometrics.bins import bin_trials
from drill.records.store import Store
from drill.report.section_pictures import curve_picture
from drill.session.machine import machine_curve
from drill.session.machine_wording import machine_blocks
from drill.session.session import Session
from drill.web.api.endings import session_ending_json
from drill.web.tables import table_json


def result_json(session: Session, store: Store) -> dict[str, Any]:
    """Return the result of a session by sections, and all its sentences and tables.

    "ending": the first part, see session_ending_json. "picture": the curve of a measurement, or
    null.
    For a session that is not finished, or whose kind has no result, the sections are its standing.
    """
    blocks = session.result_blocks() or [Passage(sentences=(session.standing,))]
    if session.finished:
        blocks += machine_blocks(session.kind, session.identity, session.attempts, store)
    sections = [_section_json(block) for block in blocks]
    return {
        "finished": session.finished,
        "ending": session_ending_json(session, store),
        "picture": _curve_json(session, store) if session.finished else None,
        "sentences": [line for section in sections for line in _lines(section)],
        "tables": [table for section in sections for table in section["tables"]],
        "sections": sections,
    }


def _lines(section: dict[str, Any]) -> list[str]:
    title = section["title"]
    return [*([f"{title}:"] if title else []), *section["sentences"]]


def _section_json(block: Passage) -> dict[str, Any]:
    tables = [] if block.table is None else [table_json(block.table)]
    figures = [" ".join(line.split()) for line in block.figures]
    return {
        "title": block.title,
        "figures": figures,
        "sentences": [*figures, *block.sentences],
        "tables": tables,
    }


def _curve_json(session: Session, store: Store) -> dict[str, Any] | None:
    """Return the curve if the session is a measurement block."""
    record = store.session(session.identity)
    if record is None:
        return None
    started = datetime.fromisoformat(record.started)
    block = session.kind.measurement_block(session.identity, started, session.attempts)
    if block is None:
        return None
    estimate = block.estimate()
    bins = bin_trials(block.trials, estimate)
    picture = curve_picture(estimate, bins, machine_curve([block], estimate, store))
    data: dict[str, Any] = to_data(picture)
    return data
