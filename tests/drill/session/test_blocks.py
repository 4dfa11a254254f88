"""Measurement blocks of the record: which count, which are comparable, and pooled estimates."""

from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest

from drill.core.conditions import Conditions
from drill.core.paths import record_file
from drill.psychometrics.placement import Placement
from drill.records.store import Store
from drill.report.figures import build_report
from drill.session.blocks import (
    MIN_TRIALS,
    comparable_setup,
    measurement_blocks,
    pooled_estimate,
    warm_ups_for,
)
from drill.session.kinds.measurement import Measurement
from drill.session.kinds.quick_check import QuickCheck
from tests.drill.session.example_kinds import PLAN
from tests.drill.simulated_trainee import record_session


def test_blocks_are_comparable_if_all_but_seed_count_and_snr_is_the_same() -> None:
    alike = replace(PLAN, seed=9, count=4, conditions=Conditions(snr_db=7.0, name="mine"))
    assert comparable_setup(alike) == comparable_setup(PLAN)
    # A lone call has no exchange, so the exchange of the plan makes no difference.
    assert comparable_setup(replace(PLAN, exchange="zone-itu")) == comparable_setup(PLAN)
    for other in (
        replace(PLAN, voices=("tin",)),
        replace(PLAN, pace=1.2),
        replace(PLAN, alternates=0.5),
        replace(PLAN, mix="world"),
        replace(PLAN, part="over"),
    ):
        assert comparable_setup(other) != comparable_setup(PLAN)


def test_blocks_are_those_with_enough_counted_trials_oldest_first(home: Path) -> None:
    warm_up = Placement(seed=1, warm_ups=5)
    with Store(record_file()) as store:
        late = record_session(store, Measurement(plan=PLAN, placement=warm_up), day=9)
        early = record_session(store, Measurement(plan=PLAN, placement=warm_up), day=2)
        record_session(store, QuickCheck(plan=PLAN), day=3)
        enough = record_session(
            store, Measurement(plan=PLAN, placement=warm_up), day=4, most=5 + MIN_TRIALS
        )
        record_session(store, Measurement(plan=PLAN, placement=warm_up), day=5, most=4 + MIN_TRIALS)
        blocks = measurement_blocks(store)
    assert [block.session for block in blocks] == [early, enough, late]
    assert [len(block.trials) for block in blocks] == [30, MIN_TRIALS, 30]
    assert blocks[0].plan == PLAN
    assert blocks[0].placement == warm_up


def test_only_comparable_blocks_are_returned_for_a_plan(home: Path) -> None:
    other = replace(PLAN, pace=1.2)
    with Store(record_file()) as store:
        record_session(store, Measurement(plan=PLAN, placement=Placement(seed=1)), day=1)
        session = record_session(store, Measurement(plan=other, placement=Placement(seed=1)), day=2)
        (block,) = measurement_blocks(store, replace(other, seed=77))
    assert block.session == session


def test_the_estimate_of_a_block_forgets_the_slope_that_its_placement_remembers(home: Path) -> None:
    with Store(record_file()) as store:
        record_session(store, Measurement.from_plan(PLAN, store), day=0)
        record_session(store, Measurement.from_plan(replace(PLAN, seed=6), store), day=7)
        first, second = measurement_blocks(store)
    assert second.placement.prior.slope_log_sd < first.placement.prior.slope_log_sd
    assert second.estimate().prior.slope_log_sd == first.estimate().prior.slope_log_sd
    assert second.estimate().prior.slope_log_sd > first.placement.prior.slope_log_sd


def test_the_pooled_estimate_has_all_trials_and_the_first_prior(home: Path) -> None:
    with Store(record_file()) as store:
        record_session(store, Measurement.from_plan(PLAN, store), day=0)
        record_session(store, Measurement.from_plan(replace(PLAN, seed=6), store), day=7)
        first, second = measurement_blocks(store)
    pooled = pooled_estimate([first, second])
    assert (pooled.n, pooled.blocks) == (60, 2)
    assert pooled.prior == first.estimate().prior != second.estimate().prior
    for block in (first, second):
        alone = block.estimate().x50_db
        assert alone.low < pooled.x50_db.value < alone.high


def test_a_trainee_warms_up_until_the_first_measurement(home: Path) -> None:
    with Store(record_file()) as store:
        assert warm_ups_for(store) == 5
        record_session(store, Measurement.from_plan(PLAN, store), day=0)
        assert warm_ups_for(store) == 0


@pytest.mark.parametrize(
    "damage",
    [
        "plan = replace(plan, 'serial', 'gone')",
        "course = '{}'",
        """course = '{"placement": null, "until_db": null}'""",
        """course = '{"placement": {"seed": -1}, "until_db": null}'""",
        """course = '{"placement": {"seed": 1, "warm_ups": -3}, "until_db": null}'""",
        """course = '{"placement": {"seed": 1, "prior": {"guess_sd_db": 1e-300}}}'""",
        """course = '{"placement": [[]], "until_db": {}}'""",
    ],
)
def test_a_measurement_that_cannot_be_used_any_more_is_left_out(damage: str, home: Path) -> None:
    """An imported session may contain any data there; it breaks neither report nor measurement."""
    with Store(record_file()) as store:
        record_session(store, Measurement(plan=PLAN, placement=Placement(seed=1)), day=1)
        with store.transaction(writes=True) as db:
            db.execute(f"UPDATE sitting SET {damage}")
        sound = record_session(store, Measurement(plan=PLAN, placement=Placement(seed=2)), day=2)
        assert [block.session for block in measurement_blocks(store)] == [sound]
        next_measurement = Measurement.from_plan(PLAN, store)
        assert next_measurement.item(0, []).conditions.snr_db is not None
        report = build_report(store, now=datetime(2026, 5, 1, tzinfo=UTC))
    assert report.answered == 60
    assert len(report.groups) == 1
