"""Sentences and text blocks about the machine that copies the trainee's items."""

from collections.abc import Iterable, Sequence
from datetime import datetime

from drill.core.counting import plural
from drill.core.models import Attempt
from drill.core.text_blocks import Passage, Table
from drill.psychometrics.checks import Flag
from drill.psychometrics.wording import describe_flag
from drill.records.store import Store
from drill.session.kinds.base import SessionKind
from drill.session.kinds.comparison import Comparison
from drill.session.machine import (
    MachineComparison,
    MachineCurve,
    machine_comparison,
    machine_curve,
)
from drill.session.results import ComparisonResult
from drill.session.wording import interval_db

MACHINE_NOTE = (
    "The machine is a speech recogniser. Its figures are not human scores; they show how hard "
    "these items were for it."
)
MACHINE_TITLE = "The same calls, copied by a machine"
_NOTED_FLAGS = ("wide", "one-sided", "misfit", "lapses")
"""Caveats that depend on the machine's answers, not only on the number of items."""


def machine_blocks(
    kind: SessionKind, session: str, attempts: Sequence[Attempt], store: Store
) -> list[Passage]:
    """Return the machine's result for a finished session.

    The list is empty if the machine has not copied the items, or if the kind of session has no
    threshold. session: its id.
    """
    if not attempts:
        return []
    if isinstance(kind, Comparison):
        comparison = machine_comparison(kind, session, attempts, store)
        return [] if comparison is None else [comparison_passage(comparison, kind.result(attempts))]
    started = datetime.fromisoformat(attempts[0].answered_at)
    block = kind.measurement_block(session, started, attempts)
    if block is None:
        return []
    curve = machine_curve([block], block.estimate(), store)
    return [] if curve is None else [curve_passage(curve)]


def curve_passage(curve: MachineCurve) -> Passage:
    """Return the machine's curve for the items of a measurement."""
    return Passage(title=MACHINE_TITLE, sentences=(*curve_sentences(curve), MACHINE_NOTE))


def curve_sentences(curve: MachineCurve) -> tuple[str, ...]:
    """Return sentences on the machine's answers to the trainee's items, and on its threshold."""
    n = len(curve.trials)
    share = plural(n, "call") if n == curve.total else f"{n} of the {curve.total} calls"
    return (
        f"The recogniser {curve.recogniser} was given the same {share}: it copied "
        f"{curve.estimate.right} of {n}, you copied {curve.trainee_right}. Its x50 is "
        f"{interval_db(curve.estimate.x50_db)}; it differs from yours by "
        f"{interval_db(curve.difference)}.",
        *_notes(curve.estimate.flags),
    )


def comparison_passage(machine: MachineComparison, trainee: ComparisonResult) -> Passage:
    """Return thresholds and differences of a comparison, for the trainee and the machine."""
    return Passage(
        title=MACHINE_TITLE,
        table=comparison_table(machine, trainee),
        sentences=(*comparison_sentences(machine, trainee), MACHINE_NOTE),
    )


def comparison_table(machine: MachineComparison | None, trainee: ComparisonResult) -> Table:
    """Return the thresholds of all alternatives; machine: None leaves its column empty."""
    theirs = {a.label: a.estimate for a in machine.result.alternatives} if machine else {}
    rows = []
    for alternative in trainee.alternatives:
        cells = [
            "" if estimate is None else interval_db(estimate.x50_db)
            for estimate in (alternative.estimate, theirs.get(alternative.label))
        ]
        rows.append((alternative.label, *cells))
    return Table(
        caption="x50 of each alternative, SNR in 3 kHz",
        head=("", "you", "machine"),
        rows=tuple(rows),
    )


def comparison_sentences(
    machine: MachineComparison | None, trainee: ComparisonResult
) -> tuple[str, ...]:
    """Return a sentence for each difference, for the trainee and the machine."""
    theirs = {d.label: d.interval for d in machine.result.differences} if machine else {}
    sentences = []
    for difference in trainee.differences:
        sentence = (
            f"{difference.label} compared with {difference.reference}: x50 differs by "
            f"{interval_db(difference.interval)} for you"
        )
        if machine is not None and difference.label in theirs:
            sentence += (
                f", and by {interval_db(theirs[difference.label])} for the recogniser "
                f"{machine.recogniser} on the same items"
            )
        sentences.append(f"{sentence}.")
    return tuple(sentences)


def _notes(flags: Iterable[Flag]) -> tuple[str, ...]:
    return tuple(
        f"Note on the machine: {describe_flag(flag)}." for flag in flags if flag.key in _NOTED_FLAGS
    )
