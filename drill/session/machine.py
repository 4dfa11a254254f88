"""The machine for comparison: a recogniser copies the trainee's measurements and comparisons.

It gets the same sound as the trainee, at the same SNRs, and its answers are scored and estimated by
the same rules. Copying is a separate task (`copy_items`); results use the stored answers.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from drill.core.errors import NoVoice
from drill.core.models import Attempt, Item
from drill.core.structuring import from_data
from drill.core.validation import json_value
from drill.items.machine_copy import (
    MACHINE_PART,
    MACHINE_RECOGNISER,
    copy_item,
    machine_name,
    machine_scores,
)
from drill.psychometrics.grid import Trial
from drill.psychometrics.intervals import Interval, difference_interval
from drill.psychometrics.posterior import Estimate, pool
from drill.recogniser import Recogniser, find_recogniser
from drill.records.store import Store
from drill.session.blocks import MeasurementBlock, counts_as_trial, goodness_rng
from drill.session.kinds.comparison import Comparison
from drill.session.kinds.measurement import Measurement
from drill.session.results import ComparisonResult

COPIED_KINDS = (Measurement.stored_name, Comparison.stored_name)
"""Stored names of the kinds of session whose items the machine copies."""
MIN_SHARED_ITEMS = 20
"""The machine's threshold is estimated only from at least this many items."""


@dataclass(frozen=True, slots=True)
class ItemToCopy:
    """An answered item without a copy: session id, number from 0, and the item as JSON."""

    session: str
    number: int
    data: str


@dataclass(frozen=True, kw_only=True, eq=False)
class MachineCurve:
    """A recogniser's results for the items of measurement blocks.

    recogniser: name and version. trials: the counted items of the blocks that it copied.
    trainee_right: number of these items that the trainee copied. estimate: from these trials.
    total: number of counted items of the blocks. difference: the machine's x50 minus the trainee's
    in dB; the trainee's is estimated from all items.
    """

    recogniser: str
    trials: tuple[Trial, ...]
    trainee_right: int
    estimate: Estimate
    total: int
    difference: Interval


@dataclass(frozen=True, kw_only=True)
class MachineComparison:
    """Result of a comparison in which a recogniser gave the answers; recogniser: its name."""

    recogniser: str
    result: ComparisonResult


def machine_recogniser() -> Recogniser:
    """Return the recogniser that copies items. Raises: NoRecogniser."""
    return find_recogniser(MACHINE_RECOGNISER)


def items_to_copy(store: Store, recogniser: Recogniser, *, session: str = "") -> list[ItemToCopy]:
    """Return the items that a recogniser has not copied yet, newest session first.

    session: only the items of this session, "" for all. Raises: NoRecogniser.
    """
    name = machine_name(recogniser)
    items: list[ItemToCopy] = []
    for record in store.sessions(modes=COPIED_KINDS):
        if record.plan.get("part") != MACHINE_PART or session not in ("", record.id):
            continue
        copies = store.machine_copies(record.id, name)
        items += [
            ItemToCopy(record.id, number, data)
            for number, data in store.answered_items(record.id).items()
            if number not in copies
        ]
    return items


def copy_items(
    store: Store, items: Sequence[ItemToCopy], recogniser: Recogniser
) -> Iterator[ItemToCopy | None]:
    """Copy and record the items one by one; yield each, or None if its voice is missing here.

    If a run is stopped, nothing is lost: the next run continues. Raises: NoRecogniser; UserError if
    an item of the record is damaged.
    """
    for entry in items:
        item = from_data(Item, json_value(entry.data), "item")
        try:
            copy = copy_item(item, recogniser)
        except NoVoice:
            yield None
            continue
        store.add_machine_copy(entry.session, entry.number, copy)
        yield entry


def machine_curve(
    blocks: Sequence[MeasurementBlock], trainee: Estimate, store: Store
) -> MachineCurve | None:
    """Return the machine's curve for comparable blocks, None if it has copied too few items.

    The answers are those of the recogniser that was used last.
    trainee: estimate of the trainee from these blocks.
    """
    recogniser = store.newest_machine()
    if not recogniser:
        return None
    trials: list[list[Trial]] = []
    trainee_right = 0
    for block in blocks:
        copies = store.machine_copies(block.session, recogniser)
        shared = [
            (copies[number].right, outcome)
            for number, outcome in enumerate(store.attempt_outcomes(block.session))
            if number >= block.placement.warm_ups and counts_as_trial(outcome) and number in copies
        ]
        trials.append([Trial(snr_db=o.snr_db or 0.0, right=right) for right, o in shared])
        trainee_right += sum(outcome.right for _, outcome in shared)
    flat = [trial for block_trials in trials for trial in block_trials]
    if len(flat) < MIN_SHARED_ITEMS:
        return None
    first = blocks[0]
    estimate = pool(
        [block_trials for block_trials in trials if block_trials],
        first.placement.prior.for_estimates(),
        goodness_rng(first.plan.seed),
    )
    return MachineCurve(
        recogniser=recogniser,
        trials=tuple(flat),
        trainee_right=trainee_right,
        estimate=estimate,
        total=sum(len(block.trials) for block in blocks),
        difference=difference_interval(estimate.x50_db, trainee.x50_db),
    )


def machine_comparison(
    kind: Comparison, session: str, attempts: Sequence[Attempt], store: Store
) -> MachineComparison | None:
    """Return the result of a comparison by the machine, None unless it has copied every item.

    session: id of the session. attempts: the trainee's.
    """
    recogniser = store.newest_machine()
    copies = store.machine_copies(session, recogniser)
    if not attempts or any(number not in copies for number in range(len(attempts))):
        return None
    answers = [
        replace(attempt, scores=machine_scores(attempt.item, copies[number].typed))
        for number, attempt in enumerate(attempts)
    ]
    return MachineComparison(recogniser=recogniser, result=kind.result(answers))
