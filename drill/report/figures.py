"""From the record to the figures of a report: each with its n and its interval.

Thresholds and trends come from measuring blocks alone, each kind of block apart. Costs of
characters and words come from everything that was answered in noise.
"""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import numpy as np

from drill.psychometrics.bins import SnrBin, bin_trials
from drill.psychometrics.intervals import Interval, Trend, trend
from drill.psychometrics.label_costs import Offset
from drill.psychometrics.posterior import Estimate
from drill.records.store import Raw, Store
from drill.sending.history import Tally, past, tally
from drill.session.blocks import Block, blocks, pooled, setup
from drill.weakspots.statistics import alignment_is_reliable, costs

NOTHING = ""
"""Stands for the copied side of a deletion and the sent side of an insertion."""
LATEST = 5000
"""Answers from which confusions, costs and response times are told: the newest ones."""
PAUSE_S = 60.0
"""A longer gap between two answers is a pause, and counts as so much."""
RESPONSE_STEP_DB = 3.0
FEWEST_RESPONSES = 5


@dataclass(frozen=True, kw_only=True, eq=False)
class Kind:
    """Measuring blocks that can be compared: each alone, all together, and their trend."""

    title: str
    blocks: tuple[Block, ...]
    estimates: tuple[Estimate, ...]
    together: Estimate
    curve: tuple[SnrBin, ...]
    trend: Trend | None


@dataclass(frozen=True, kw_only=True)
class Confusion:
    """What was typed for what was sent.

    counts: by (sent, typed); NOTHING as typed is a deletion, as sent an insertion, "?" as typed a
    character that was heard but not made out. orders: fields with two neighbours the wrong way
    round, which are slips of memory and not in the counts. sent: how often each was sent.
    """

    counts: dict[tuple[str, str], int]
    sent: dict[str, int]
    orders: int

    def worst(self, most: int = 12) -> list[tuple[str, str, int, int]]:
        """Return the commonest mistakes as sent, typed, how often, of how many."""
        wrong = [(pair, n) for pair, n in self.counts.items() if pair[0] != pair[1]]
        wrong.sort(key=lambda entry: (-entry[1], entry[0]))
        return [(a, b, n, self.sent.get(a, n)) for (a, b), n in wrong[:most]]


@dataclass(frozen=True, kw_only=True)
class Response:
    """Seconds from the end of the sound to Enter, of right answers in a range of SNR."""

    low_db: float
    high_db: float
    n: int
    median_s: Interval


@dataclass(frozen=True, kw_only=True, eq=False)
class Report:
    """All figures of a report."""

    made: datetime
    answered: int
    sittings: int
    hours: float
    kinds: tuple[Kind, ...]
    confusion: Confusion
    costs: dict[str, tuple[tuple[str, Offset], ...]]
    responses: tuple[Response, ...]
    spoken: Tally | None = None


def report(store: Store, *, now: datetime) -> Report:
    """Return the figures of everything that the store holds."""
    times = store.times()
    rows = list(store.raw(newest=LATEST))
    return Report(
        made=now,
        answered=len(times),
        sittings=len({sitting for sitting, _ in times}),
        hours=practised_s(times) / 3600,
        kinds=tuple(kinds(blocks(store))),
        confusion=confusion(rows),
        costs={kind: dearest_first(found) for kind, found in costs(rows).items()},
        responses=tuple(responses(rows)),
        spoken=tally(takes) if (takes := list(past(store))) else None,
    )


def practised_s(times: Iterable[tuple[str, str]]) -> float:
    """Return the time spent in seconds: from answer to answer, pauses cut to PAUSE_S.

    times: sitting and moment of each answer, in their order.
    """
    total, last = 0.0, dict[str, float]()
    for sitting, moment in times:
        at = datetime.fromisoformat(moment).timestamp()
        gap = at - last.get(sitting, at - PAUSE_S / 4)
        total += min(max(gap, 0.0), PAUSE_S)
        last[sitting] = at
    return total


def kinds(found: Sequence[Block]) -> list[Kind]:
    """Return the blocks by their setup, the one with the newest block first."""
    groups: list[tuple[dict[str, Any], list[Block]]] = []
    for block in found:
        wanted = setup(block.course.plan)
        group = next((blocks for known, blocks in groups if known == wanted), None)
        if group is None:
            groups.append((wanted, [block]))
        else:
            group.append(block)
    groups.sort(key=lambda entry: entry[1][-1].started, reverse=True)
    return [kind_of(group) for _, group in groups]


def kind_of(group: Sequence[Block]) -> Kind:
    """Return blocks that can be compared, oldest first, with what they tell together."""
    estimates = tuple(block.estimate() for block in group)
    together = pooled(group)
    days = [block.started.timestamp() / 86400 for block in group]
    line = None
    if len(group) >= 4 and days[-1] > days[0]:
        values = [e.x50_db.value for e in estimates]
        line = trend(days, values, [e.x50_db.sd for e in estimates])
    plan = group[-1].course.plan
    name = plan.conditions.name or "own conditions"
    voices = f"{len(plan.voices)} voices" if plan.voices else "all voices"
    return Kind(
        title=f"{plan.part}s, {name}, {plan.conditions.fading.name} path, {voices}",
        blocks=tuple(group),
        estimates=estimates,
        together=together,
        curve=tuple(bin_trials([t for block in group for t in block.trials], together)),
        trend=line,
    )


def confusion(rows: Iterable[Raw]) -> Confusion:
    """Return the confusion matrix of all answers in noise that tell of characters."""
    counts: Counter[tuple[str, str]] = Counter()
    orders = 0
    for row in rows:
        if row.snr_db is None or row.answer["gave_up"] or row.answer["replays"]:
            continue
        for score in row.scores:
            if not alignment_is_reliable(score):
                continue
            if "wrong way round" in score["hint"]:
                orders += 1
                continue
            for pair in score["pairs"]:
                typed = pair["sent"] if score["right"] else pair["copied"]
                counts[pair["sent"], typed] += 1
    sent: Counter[str] = Counter()
    for (character, _), n in counts.items():
        if character:
            sent[character] += n
    counts.pop((NOTHING, NOTHING), None)
    return Confusion(counts=dict(counts), sent=dict(sent), orders=orders)


def dearest_first(found: dict[str, Offset]) -> tuple[tuple[str, Offset], ...]:
    """Return labels and their costs, dearest first."""
    return tuple(sorted(found.items(), key=lambda entry: -entry[1].cost_db.value))


def responses(rows: Iterable[Raw]) -> list[Response]:
    """Return response times of right answers that were heard once, by SNR."""
    seconds: dict[int, list[float]] = {}
    for row in rows:
        if row.right and row.snr_db is not None and not row.answer["replays"]:
            step = int(row.snr_db // RESPONSE_STEP_DB)
            seconds.setdefault(step, []).append(row.answer["seconds"])
    return [
        Response(
            low_db=step * RESPONSE_STEP_DB,
            high_db=(step + 1) * RESPONSE_STEP_DB,
            n=len(values),
            median_s=median(values),
        )
        for step, values in sorted(seconds.items())
        if len(values) >= FEWEST_RESPONSES
    ]


def median(values: Sequence[float]) -> Interval:
    """Return the median with its 95 % interval from order statistics.

    Source: H. A. David, H. N. Nagaraja, Order Statistics, section 7.1.
    """
    from scipy.special import bdtr

    ranked = sorted(values)
    n = len(ranked)
    below = bdtr(np.arange(n), n, 0.5)  # chance that so many or fewer lie below the median
    low = max(0, int(np.searchsorted(below, 0.025)) - 1)
    middle = (ranked[(n - 1) // 2] + ranked[n // 2]) / 2
    return Interval(value=middle, low=ranked[low], high=ranked[n - 1 - low])
