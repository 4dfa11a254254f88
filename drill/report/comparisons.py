"""The comparisons of a report: thresholds and differences of the trainee and of the machine."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime

from drill.core.errors import FaintcallError
from drill.core.text_blocks import Table
from drill.items.machine_copy import MACHINE_PART
from drill.records.store import Store
from drill.report.section import Section
from drill.session.kinds.comparison import Comparison
from drill.session.machine import MachineComparison, machine_comparison
from drill.session.machine_wording import (
    MACHINE_NOTE,
    comparison_sentences,
    comparison_table,
)
from drill.session.recorded import recorded_kind
from drill.session.results import ComparisonResult

MAX_COMPARISONS = 5
"""Largest number of finished comparisons in a report, newest first."""
MAX_COMPARISONS_SEARCHED = 20
"""Only this many of the newest comparisons are searched for finished ones."""


@dataclass(frozen=True, kw_only=True, eq=False)
class ReportedComparison:
    """A finished comparison.

    consists_of_calls: required for the machine, which copies only calls. machine: None unless a
    recogniser has copied all items.
    """

    started: datetime
    consists_of_calls: bool
    result: ComparisonResult
    machine: MachineComparison | None


def finished_comparisons(store: Store) -> Iterator[ReportedComparison]:
    """Yield the newest finished comparisons, the newest first.

    Sessions that this version cannot use are left out.
    """
    shown = 0
    for record in store.sessions(MAX_COMPARISONS_SEARCHED, modes=(Comparison.stored_name,)):
        try:
            kind = recorded_kind(record)
        except FaintcallError:
            continue
        if not isinstance(kind, Comparison) or record.answered < kind.count:
            continue
        attempts = store.attempts(record.id)
        yield ReportedComparison(
            started=datetime.fromisoformat(record.started),
            consists_of_calls=kind.plan.part == MACHINE_PART,
            result=kind.result(attempts),
            machine=machine_comparison(kind, record.id, attempts, store),
        )
        shown += 1
        if shown == MAX_COMPARISONS:
            return


def comparison_sections(comparisons: Sequence[ReportedComparison]) -> list[Section]:
    """Return a section for each comparison."""
    return [_section(comparison, number) for number, comparison in enumerate(comparisons, 1)]


def _section(comparison: ReportedComparison, number: int) -> Section:
    labels = ", ".join(alternative.label for alternative in comparison.result.alternatives)
    started = comparison.started.astimezone().strftime("%Y-%m-%d %H:%M")
    heading = f"Comparison of {started}: {labels}"
    sentences = comparison_sentences(comparison.machine, comparison.result)
    if comparison.machine is not None:
        sentences = (*sentences, MACHINE_NOTE)
    table = comparison_table(comparison.machine, comparison.result)
    return Section(
        name=f"comparison-{number}",
        heading=heading,
        sentences=sentences or ("There is no difference to show.",),
        table=Table(caption=heading, head=("alternative", *table.head[1:]), rows=table.rows),
    )
