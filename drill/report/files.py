"""A report as files: a self-contained HTML page with PNG, CSV and JSON files beside it."""

import csv
import json
from collections.abc import Mapping, Sequence
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any

from drill import __version__
from drill.core.errors import UserError
from drill.core.structuring import to_data
from drill.core.text_blocks import Table
from drill.hunt.figures import HuntHistory
from drill.psychometrics.posterior import Estimate
from drill.report.charts import chart_png, chart_svg
from drill.report.figures import ComparableBlocks, Report
from drill.report.headlines import headlines
from drill.report.section import Section
from drill.report.sections import report_sections
from drill.report.wording import CONVENTIONS, describe_setup
from drill.session.machine import MachineCurve

if TYPE_CHECKING:
    from matplotlib.figure import Figure

PAGE_FILE = "report.html"
DATA_FILE = "report.json"


def write_report(report: Report, folder: Path) -> Path:
    """Write the page and all other files into a folder; return the path of the page.

    Raises: UserError if the folder cannot be written.
    """
    sections = report_sections(report)
    charts = {s.name: s.draw_chart() for s in sections if s.draw_chart is not None}
    page = _render_page(report, sections, charts)
    data = json.dumps(report_data(report, sections), indent=1, default=str)
    try:
        folder.mkdir(parents=True, exist_ok=True)
        (folder / PAGE_FILE).write_text(page, "utf-8")
        for section in sections:
            if section.name in charts:
                (folder / f"{section.name}.png").write_bytes(chart_png(charts[section.name]))
            if section.table is not None:
                _write_csv(folder / f"{section.name}.csv", section.table)
        (folder / DATA_FILE).write_text(data + "\n", "utf-8")
    except OSError as error:
        raise UserError(
            f"folder {folder} cannot be written ({error.strerror}); choose another folder"
        ) from None
    return folder / PAGE_FILE


def _render_page(
    report: Report, sections: Sequence[Section], charts: "Mapping[str, Figure]"
) -> str:
    """Return the HTML page; charts: by name of their section."""
    from jinja2 import Environment, PackageLoader, StrictUndefined
    from markupsafe import Markup

    drawings = {
        section.name: Markup(chart_svg(charts[section.name], section.sentences[0]))
        for section in sections
        if section.name in charts
    }
    environment = Environment(
        loader=PackageLoader("drill.report"), autoescape=True, undefined=StrictUndefined
    )
    return environment.get_template(PAGE_FILE).render(
        headlines=headlines(report),
        sections=sections,
        charts=drawings,
        report=report,
        conventions=CONVENTIONS,
        version=__version__,
    )


def _write_csv(path: Path, table: Table) -> None:
    with path.open("w", newline="", encoding="utf-8") as out:
        writer = csv.writer(out)
        writer.writerow(table.head)
        writer.writerows(table.rows)


def report_data(report: Report, sections: Sequence[Section]) -> dict[str, Any]:
    """Return the report as plain data, with the keys that report.json has had since 0.2.0."""
    return {
        "version": __version__,
        "made": report.created.isoformat(),
        "answered": report.answered,
        "sittings": report.sessions,
        "hours": round(report.hours, 3),
        "kinds": [_group_data(group) for group in report.groups],
        "confusion": [
            {"sent": sent, "typed": typed, "n": n}
            for (sent, typed), n in sorted(report.confusion.counts.items())
        ],
        "order_errors": report.confusion.order_errors,
        "costs": {
            kind: [
                {
                    "label": label,
                    "n": cost.n,
                    "enough": cost.has_enough_data,
                    "cost_db": asdict(cost.cost_db),
                }
                for label, cost in costs
            ]
            for kind, costs in report.costs.items()
        },
        "responses": [asdict(response) for response in report.response_times],
        "spoken": None if report.sending is None else to_data(report.sending),
        "contacts": None if report.contacts is None else to_data(report.contacts),
        "sentences": {section.name: list(section.sentences) for section in sections},
        "hunts": None if report.hunts is None else _hunts_data(report.hunts),
        "headlines": [to_data(headline) for headline in headlines(report)],
    }


def _hunts_data(history: HuntHistory) -> dict[str, Any]:
    """Return the figures of all hunts as plain data, without the single contacts."""
    return {"total": to_data(history.total), "by_power": to_data(history.by_power)}


def _group_data(group: ComparableBlocks) -> dict[str, Any]:
    """Return comparable blocks as plain data."""
    return {
        "title": describe_setup(group),
        "blocks": [
            {"started": block.started.isoformat(), **_estimate_data(estimate)}
            for block, estimate in zip(group.blocks, group.estimates, strict=True)
        ],
        "together": _estimate_data(group.pooled),
        "trend": None if group.trend is None else asdict(group.trend),
        "machine": None if group.machine is None else _machine_data(group.machine),
    }


def _machine_data(machine: MachineCurve) -> dict[str, Any]:
    """Return a recogniser's results for the same items as plain data."""
    return {
        "recogniser": machine.recogniser,
        "right": machine.estimate.right,
        "trainee_right": machine.trainee_right,
        **_estimate_data(machine.estimate),
    }


def _estimate_data(estimate: Estimate) -> dict[str, Any]:
    """Return the number of items, thresholds and slope of an estimate as plain data."""
    return {
        "n": estimate.n,
        "x50_db": asdict(estimate.x50_db),
        "x80_db": asdict(estimate.x80_db),
        "slope_per_db": asdict(estimate.slope_per_db),
    }
