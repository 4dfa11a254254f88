"""The figures of a report, computed from the record; each has its n and its interval.

Thresholds and trends come from measurement blocks only, separately for each group of comparable
blocks. Costs, confusions and response times come from all answers in noise.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

import numpy as np

from drill.contact.figures import ContactHistory, contact_history
from drill.hunt.figures import HuntHistory, hunt_history
from drill.items.plan import Plan
from drill.psychometrics.bins import SnrBin, bin_trials
from drill.psychometrics.intervals import MIN_TREND_BLOCKS, Interval, Trend, fit_trend
from drill.psychometrics.label_costs import LabelCost
from drill.psychometrics.posterior import Estimate
from drill.records.sessions import RawAttempt
from drill.records.store import Store
from drill.report.comparisons import ReportedComparison, finished_comparisons
from drill.report.confusion import ConfusionMatrix, count_confusions
from drill.sending.history import SendingSummary, past_takes, summarise_takes
from drill.session.blocks import (
    MeasurementBlock,
    comparable_setup,
    measurement_blocks,
    pooled_estimate,
)
from drill.session.machine import MachineCurve, machine_curve
from drill.weakspots.statistics import label_costs_by_kind

MAX_ANSWERS = 5000
"""Confusions, costs and response times come from this many of the newest answers."""
MAX_GAP_S = 60.0
"""A longer time between two answers is a break; only this much of it counts as practice."""
RESPONSE_BIN_DB = 3.0
MIN_RESPONSES = 5
"""Fewest right answers in a bin for which a median response time is given."""
_SECONDS_PER_DAY = 86400


@dataclass(frozen=True, kw_only=True, eq=False)
class ComparableBlocks:
    """Measurement blocks with the same setup, oldest first.

    plan: plan of the newest block. estimates: one for each block alone. pooled: all together.
    bins: all trials by SNR. trend: None with too few blocks, or if all have the same start.
    machine: what a recogniser copied of the same items, None if it has not.
    """

    plan: Plan
    blocks: tuple[MeasurementBlock, ...]
    estimates: tuple[Estimate, ...]
    pooled: Estimate
    bins: tuple[SnrBin, ...]
    trend: Trend | None
    machine: MachineCurve | None = None


@dataclass(frozen=True, kw_only=True)
class ResponseTime:
    """Median time from the end of the audio to the answer, of right answers in an SNR range.

    low_db, high_db: the range in dB. n: number of answers. median_s: in seconds.
    """

    low_db: float
    high_db: float
    n: int
    median_s: Interval


@dataclass(frozen=True, kw_only=True, eq=False)
class Report:
    """All figures of a report.

    created: time of the report. answered, sessions: number of answers and of sessions in the
    record. hours: time spent answering. groups: comparable measurement blocks, the group with the
    newest block first. costs: by kind of label, labels and costs, highest cost first.
    sending: summary of the trainee's own sending, None without any take. contacts: None without a
    finished contact. comparisons: the newest finished ones, the newest first. hunts: None without
    one that has ended.
    """

    created: datetime
    answered: int
    sessions: int
    hours: float
    groups: tuple[ComparableBlocks, ...]
    confusion: ConfusionMatrix
    costs: dict[str, tuple[tuple[str, LabelCost], ...]]
    response_times: tuple[ResponseTime, ...]
    sending: SendingSummary | None = None
    contacts: ContactHistory | None = None
    comparisons: tuple[ReportedComparison, ...] = ()
    hunts: HuntHistory | None = None

    @property
    def machine_is_behind(self) -> bool:
        """True if the machine has not copied all items that are shown and that it can copy."""
        curves = [group.machine for group in self.groups]
        return any(c is None or len(c.trials) < c.total for c in curves) or any(
            c.machine is None for c in self.comparisons if c.consists_of_calls
        )

    @property
    def is_empty(self) -> bool:
        """True if the record has no answers, no takes, no contacts and no hunts."""
        others = (self.sending, self.contacts, self.hunts)
        return not self.answered and all(part is None for part in others)


def build_report(store: Store, *, now: datetime) -> Report:
    """Return the figures of the whole record; now: the time of the report."""
    times = store.attempt_times()
    answers = list(store.raw_attempts(newest=MAX_ANSWERS))
    takes = list(past_takes(store))
    return Report(
        created=now,
        answered=len(times),
        sessions=len({session for session, _ in times}),
        hours=practice_seconds(times) / 3600,
        groups=tuple(
            replace(group, machine=machine_curve(group.blocks, group.pooled, store))
            for group in group_comparable_blocks(measurement_blocks(store))
        ),
        confusion=count_confusions(answers),
        costs={kind: _highest_first(costs) for kind, costs in label_costs_by_kind(answers).items()},
        response_times=tuple(response_times(answers)),
        sending=summarise_takes(takes) if takes else None,
        contacts=contact_history(store),
        comparisons=tuple(finished_comparisons(store)),
        hunts=hunt_history(store),
    )


def practice_seconds(times: Iterable[tuple[str, str]]) -> float:
    """Return the time spent answering in seconds.

    times: session and time (ISO 8601) of each answer, in order. The gaps between the answers of a
    session are added up, each limited to MAX_GAP_S; the first answer of a session counts as a
    quarter of that.
    """
    total, previous = 0.0, dict[str, float]()
    for session, answered_at in times:
        seconds = datetime.fromisoformat(answered_at).timestamp()
        gap = seconds - previous.get(session, seconds - MAX_GAP_S / 4)
        total += min(max(gap, 0.0), MAX_GAP_S)
        previous[session] = seconds
    return total


def group_comparable_blocks(blocks: Sequence[MeasurementBlock]) -> list[ComparableBlocks]:
    """Return blocks grouped by their setup, the group with the newest block first.

    blocks: oldest first.
    """
    groups: list[tuple[dict[str, Any], list[MeasurementBlock]]] = []
    for block in blocks:
        setup = comparable_setup(block.plan)
        group = next((members for known, members in groups if known == setup), None)
        if group is None:
            groups.append((setup, [block]))
        else:
            group.append(block)
    groups.sort(key=lambda entry: entry[1][-1].started, reverse=True)
    return [summarise_blocks(members) for _, members in groups]


def summarise_blocks(blocks: Sequence[MeasurementBlock]) -> ComparableBlocks:
    """Return the figures of comparable blocks, at least one, oldest first."""
    estimates = tuple(block.estimate() for block in blocks)
    pooled = pooled_estimate(blocks)
    trials = [trial for block in blocks for trial in block.trials]
    days = [block.started.timestamp() / _SECONDS_PER_DAY for block in blocks]
    trend = None
    if len(blocks) >= MIN_TREND_BLOCKS and days[-1] > days[0]:
        thresholds = [estimate.x50_db for estimate in estimates]
        trend = fit_trend(days, [x50.value for x50 in thresholds], [x50.sd for x50 in thresholds])
    return ComparableBlocks(
        plan=blocks[-1].plan,
        blocks=tuple(blocks),
        estimates=estimates,
        pooled=pooled,
        bins=tuple(bin_trials(trials, pooled)),
        trend=trend,
    )


def _highest_first(costs: dict[str, LabelCost]) -> tuple[tuple[str, LabelCost], ...]:
    """Return labels and costs, highest cost first."""
    return tuple(sorted(costs.items(), key=lambda entry: -entry[1].cost_db.value))


def response_times(answers: Iterable[RawAttempt]) -> list[ResponseTime]:
    """Return the response times of right answers without replay, by rising SNR."""
    seconds: dict[int, list[float]] = {}
    for answer in answers:
        if answer.right and answer.snr_db is not None and not answer.answer["replays"]:
            index = int(answer.snr_db // RESPONSE_BIN_DB)
            seconds.setdefault(index, []).append(answer.answer["seconds"])
    return [
        ResponseTime(
            low_db=index * RESPONSE_BIN_DB,
            high_db=(index + 1) * RESPONSE_BIN_DB,
            n=len(values),
            median_s=median_interval(values),
        )
        for index, values in sorted(seconds.items())
        if len(values) >= MIN_RESPONSES
    ]


def median_interval(values: Sequence[float]) -> Interval:
    """Return the median of at least one value, with its 95 % interval from order statistics.

    Source: H. A. David, H. N. Nagaraja, Order Statistics, section 7.1.
    """
    from scipy.special import bdtr  # slow to import (0.3 s)

    ranked = sorted(values)
    n = len(ranked)
    # Probability that this many values or fewer lie below the true median.
    cumulative = bdtr(np.arange(n), n, 0.5)
    low = max(0, int(np.searchsorted(cumulative, 0.025)) - 1)
    median = (ranked[(n - 1) // 2] + ranked[n // 2]) / 2
    return Interval(value=median, low=ranked[low], high=ranked[n - 1 - low])
