"""Measurement: warm-up, targets, the end by precision, and the results from its record."""

from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest

from drill.core.errors import UserError
from drill.core.paths import record_file
from drill.psychometrics.placement import MEASUREMENT_TARGETS, Placement
from drill.records.store import Store
from drill.session.absent_voices import MEASUREMENT_OPERATORS
from drill.session.attempts import trials_of
from drill.session.kinds.measurement import MIN_ITEMS, Measurement
from drill.session.options import SessionOptions
from drill.session.wording import resolution_sentence
from tests.drill.session.example_kinds import PLAN
from tests.drill.simulated_trainee import SimulatedTrainee, answer_items, record_session

STARTED = datetime(2026, 3, 1, tzinfo=UTC)


def test_the_warm_up_comes_first_and_then_the_targets() -> None:
    kind = Measurement(plan=replace(PLAN, count=120), placement=Placement(seed=3, warm_ups=5))
    attempts = answer_items(kind, SimulatedTrainee())
    levels = [attempt.item.conditions.snr_db for attempt in attempts]
    assert levels[:5] == [10.0] * 5
    trials = trials_of(attempts, kind.warm_ups)
    assert [trial.warm_up for trial in trials] == [True] * 5 + [False] * 120
    assert kind.counted_trials(attempts) == trials[5:]
    late = [trial.right for trial in trials[45:]]
    assert np.mean(late) == pytest.approx(np.mean(MEASUREMENT_TARGETS), abs=0.15)


def test_a_measurement_ends_when_it_is_precise_but_not_before_40_items() -> None:
    kind = Measurement(
        plan=replace(PLAN, count=400), placement=Placement(seed=3, warm_ups=5), until_db=2.0
    )
    attempts = answer_items(kind, SimulatedTrainee(slope=1.2))
    assert MIN_ITEMS + 5 <= len(attempts) < 400
    assert kind.finished(attempts)
    assert not kind.finished(attempts[:-1])
    assert not replace(kind, until_db=0.5).finished(attempts)
    assert not replace(kind, until_db=10.0).finished(attempts[: MIN_ITEMS + 4])


def test_the_first_measurement_warms_up_and_later_ones_know_the_slope(home: Path) -> None:
    with Store(record_file()) as store:
        first = Measurement.from_plan(PLAN, store)
        record_session(store, first, day=0)
        second = Measurement.from_plan(replace(PLAN, seed=6), store)
        other = Measurement.from_plan(replace(PLAN, pace=1.2), store)
    assert (first.warm_ups, second.warm_ups, other.warm_ups) == (5, 0, 0)
    assert second.placement.prior.slope_log_sd < first.placement.prior.slope_log_sd
    assert other.placement.prior == first.placement.prior
    assert first.placement.prior.guess_rate == pytest.approx(36.0**-4)


def test_operators_are_the_same_every_time_if_none_are_named(home: Path) -> None:
    with Store(record_file()) as store:
        kind = Measurement.create(SessionOptions(), store)
        named = Measurement.create(SessionOptions(voices=("tin",)), store)
    assert kind.plan.voices == MEASUREMENT_OPERATORS
    assert named.plan.voices == ("tin",)


@pytest.mark.parametrize("width_db", [0.49, 10.1, float("nan")])
def test_a_width_out_of_range_is_refused(width_db: float, home: Path) -> None:
    with (
        Store(record_file()) as store,
        pytest.raises(UserError, match=r"interval of x50 .* allowed are 0.5 to 10 dB") as refused,
    ):
        Measurement.create(SessionOptions(until_db=width_db), store)
    assert refused.value.field == "until_db"


def test_the_standing_is_an_estimate_once_a_trial_counts() -> None:
    kind = Measurement(plan=PLAN, placement=Placement(seed=3, warm_ups=5))
    attempts = answer_items(kind, SimulatedTrainee())
    assert kind.standing(attempts[:5]) == "No estimate yet; 30 items to go."
    assert kind.standing(attempts[:6]).startswith("x50 so far ")
    assert kind.standing(attempts[:6]).endswith("; at most 29 items to go.")


def test_a_measurement_is_a_block_of_its_counted_trials() -> None:
    kind = Measurement(plan=PLAN, placement=Placement(seed=3, warm_ups=5))
    attempts = answer_items(kind, SimulatedTrainee())
    block = kind.measurement_block("a", STARTED, attempts)
    assert block is not None
    assert (block.session, block.started, block.plan) == ("a", STARTED, PLAN)
    assert list(block.trials) == kind.counted_trials(attempts)
    assert kind.measurement_block("a", STARTED, attempts[:5]) is None


def test_a_measurement_in_which_every_call_was_replayed_has_no_estimate(home: Path) -> None:
    kind = Measurement(plan=PLAN, placement=Placement(seed=3))
    attempts = [
        replace(attempt, answer=replace(attempt.answer, replays=1))
        for attempt in answer_items(kind, SimulatedTrainee())
    ]
    with Store(record_file()) as store:
        assert kind.result(attempts, store) is None
        (block,) = kind.result_blocks(attempts, store)
    assert block.sentences == ("No call counts, because every call was played more than once.",)


def test_the_result_pools_comparable_blocks_and_compares_the_last_two(home: Path) -> None:
    with Store(record_file()) as store:
        record_session(store, Measurement.from_plan(PLAN, store), day=0)
        kind = Measurement.from_plan(replace(PLAN, seed=6), store)
        attempts = answer_items(kind, SimulatedTrainee(seed=7, x50_db=-9.0), day=7)
        alone = kind.result(attempts, store)
        record_session(store, kind, day=7)
        pooled = kind.result(attempts, store)
        result_blocks = kind.result_blocks(attempts, store)
        titles = [block.title for block in result_blocks]
        sentences = result_blocks[0].sentences
    assert alone is not None
    assert (alone.pooled, alone.change) == (None, None)
    assert pooled is not None
    assert pooled.pooled is not None
    assert (pooled.pooled.n, pooled.pooled.blocks) == (60, 2)
    assert pooled.change is not None
    assert alone.resolution.smallest_db > 1
    assert sentences[-1] == resolution_sentence(pooled.resolution)
    assert titles == ["This block", "All 2 comparable blocks together"]
