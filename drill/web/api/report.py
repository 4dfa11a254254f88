"""The report for the page: the parts of drill.report.sections as plain data."""

from typing import Any

from drill.report.figures import Report
from drill.report.sections import Part, parts
from drill.web.svg import inline

EMPTY = (
    "Nothing is recorded yet, and so there is nothing to tell. A few practised items give the "
    "first figures; a measuring block gives a threshold."
)
CONVENTIONS = (
    "SNR is active speech level (ITU-T P.56) against noise in 3 kHz. x50 and x80 are the SNR at "
    "which half and four fifths of whole calls are copied, lapses included.",
    "Thresholds and trends come from measuring blocks alone; practice never enters them. Costs are "
    "of characters in all answers in noise, shrunk towards the average. Intervals are 95 %.",
    "How well one copies through headphones at home is not how well one hears: this is no hearing "
    "test.",
)


def report_json(found: Report) -> dict[str, Any]:
    """Return a report as sections; enough is False where nothing was answered or said yet."""
    if not found.answered and found.spoken is None:
        return {"sentence": EMPTY, "sections": [], "enough": False, "conventions": []}
    sittings = "1 sitting" if found.sittings == 1 else f"{found.sittings} sittings"
    answers = "1 answer" if found.answered == 1 else f"{found.answered} answers"
    return {
        "sentence": f"{answers} in {sittings}, {found.hours:.1f} hours.",
        "sections": [_section(part) for part in parts(found)],
        "enough": True,
        "conventions": list(CONVENTIONS),
    }


def _section(part: Part) -> dict[str, Any]:
    says = " ".join(part.sentences)
    charts = []
    if part.chart is not None:
        svg = inline(part.chart, title=part.heading, says=says, mark=part.name)
        charts.append({"svg": svg, "says": says})
    table = {"caption": part.heading, "head": list(part.head), "rows": [*map(list, part.rows)]}
    return {
        "name": part.name,
        "title": part.heading,
        "sentences": list(part.sentences),
        "tables": [table] if part.rows else [],
        "charts": charts,
    }
