"""The JSON of a session's result: sentences, tables and the chart of a measurement."""

from dataclasses import replace
from datetime import datetime
from typing import Any

from drill.core.text_blocks import Passage
from drill.records.store import Store
from drill.report.charts import curve_chart
from drill.report.figures import summarise_blocks
from drill.session.machine import machine_curve
from drill.session.machine_wording import machine_blocks
from drill.session.session import Session
from drill.web.svg import inline_svg
from drill.web.tables import table_json


def result_json(session: Session, store: Store) -> dict[str, Any]:
    """Return the result of a session by sections, and all its sentences, tables and charts.

    For a session that is not finished, or whose kind has no result, this is its standing.
    """
    blocks = session.result_blocks() or [Passage(sentences=(session.standing,))]
    if session.finished:
        blocks += machine_blocks(session.kind, session.identity, session.attempts, store)
    sections = [_section_json(block) for block in blocks]
    charts = _charts_json(session, store) if session.finished else []
    sections[0]["charts"] = charts
    return {
        "finished": session.finished,
        "sentences": [line for section in sections for line in _lines(section)],
        "tables": [table for section in sections for table in section["tables"]],
        "charts": charts,
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
        "sentences": [*figures, *block.sentences],
        "tables": tables,
        "charts": [],
    }


def _charts_json(session: Session, store: Store) -> list[dict[str, str]]:
    """Return the curve if the session is a measurement block."""
    record = store.session(session.identity)
    if record is None:
        return []
    started = datetime.fromisoformat(record.started)
    block = session.kind.measurement_block(session.identity, started, session.attempts)
    if block is None:
        return []
    sentence = "Share of calls copied by SNR in 3 kHz, with the fitted curve and its 95 % band."
    summary = summarise_blocks([block])
    machine = machine_curve(summary.blocks, summary.pooled, store)
    svg = inline_svg(
        curve_chart(replace(summary, machine=machine)),
        title="The curve of this block",
        description=sentence,
        id_prefix="block",
    )
    return [{"svg": svg, "says": sentence}]
