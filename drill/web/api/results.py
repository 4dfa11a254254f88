"""What a sitting tells at its end, as the page gets it."""

from typing import Any

from drill.core.text_blocks import Passage
from drill.records.store import Store
from drill.session.blocks import Block
from drill.session.courses import Measuring
from drill.session.results import counted, outcome
from drill.session.session import Practice


def result_json(practice: Practice, store: Store) -> dict[str, Any]:
    """Return sentences, tables and charts; and the same by sections."""
    passages = outcome(practice, store)
    charts = _charts(practice, store) if practice.finished else []
    sections = [_section(passage) for passage in passages]
    sections[0]["charts"] = charts
    return {
        "finished": practice.finished,
        "sentences": [line for part in sections for line in _lines(part)],
        "tables": [table for part in sections for table in part["tables"]],
        "charts": charts,
        "sections": sections,
    }


def _lines(section: dict[str, Any]) -> list[str]:
    title = section["title"]
    return [*([f"{title}:"] if title else []), *section["sentences"]]


def _section(passage: Passage) -> dict[str, Any]:
    table = passage.table
    tables = []
    if table is not None:
        rows = [[" ".join(cell.split()) for cell in row] for row in table.rows]
        tables.append({"caption": table.caption, "head": list(table.head), "rows": rows})
    figures = [" ".join(line.split()) for line in passage.figures]
    return {
        "title": passage.title,
        "sentences": [*figures, *passage.sentences],
        "tables": tables,
        "charts": [],
    }


def _charts(practice: Practice, store: Store) -> list[dict[str, str]]:
    """Return the curve of a measuring block."""
    course = practice.course
    trials = counted(course, practice.attempts)
    sitting = store.sitting(practice.identity)
    if not isinstance(course, Measuring) or not trials or sitting is None:
        return []
    from datetime import datetime

    from drill.report.charts import curve_chart
    from drill.report.figures import kind_of
    from drill.web.svg import inline

    block = Block(
        sitting=sitting.id,
        started=datetime.fromisoformat(sitting.started),
        course=course,
        trials=tuple(trials),
    )
    says = "Share of calls copied against SNR in 3 kHz, with the curve and its 95 % band."
    svg = inline(
        curve_chart(kind_of([block])), title="The curve of this block", says=says, mark="block"
    )
    return [{"svg": svg, "says": says}]
