"""This week against the week before."""

from collections.abc import Iterator
from datetime import timedelta

import pytest

from drill.core.paths import record_file
from drill.items.plan import Plan
from drill.records.store import Store
from drill.session.kinds.measurement import Measurement
from drill.session.kinds.practice import Practice
from drill.session.kinds.training import Training
from drill.session.weeks import MIN_WEEK_TRIALS, WeekComparison, compare_weeks
from tests.drill.simulated_trainee import START, SimulatedTrainee, record_session

NOW = START + timedelta(days=14)


@pytest.fixture
def store(home: object) -> Iterator[Store]:
    """The empty record of this home."""
    with Store(record_file()) as opened:
        yield opened


def sample_plan(seed: int, count: int = 40, snr_db: float = -2.0, **options: object) -> Plan:
    plan = Plan(seed=seed, count=count, mix="unassigned", voices=("tin",))
    data = plan.to_dict() | options
    data["conditions"]["snr_db"] = snr_db
    return Plan.from_dict(data)


def practise(store: Store, day: int, x50_db: float, seed: int = 1, **options: object) -> None:
    plan = sample_plan(seed, **options)  # type: ignore[arg-type]
    record_session(store, Practice(plan=plan), SimulatedTrainee(seed, x50_db), day=day)


def compare(store: Store) -> WeekComparison | None:
    return compare_weeks(store, sample_plan(0), now=NOW)


def test_a_clear_change_is_shown(store: Store) -> None:
    """Half of the characters at -4 dB, then at -9 dB.

    With 50 % per dB on the logit, calls of five to six characters are copied in about 18 and 85 of
    100 cases at -2 dB.
    """
    practise(store, day=2, x50_db=-4.0)
    practise(store, day=9, x50_db=-9.0, seed=2)
    week = compare(store)
    assert week is not None
    assert (week.n_before, week.n_now, week.snr_db) == (40, 40, -2.0)
    assert week.shown
    assert 0.3 < week.difference.low < week.difference.value < week.difference.high < 1
    assert week.now.value - week.before.value == pytest.approx(week.difference.value)


def test_the_same_listener_shows_no_change(store: Store) -> None:
    practise(store, day=2, x50_db=-6.0)
    practise(store, day=9, x50_db=-6.0, seed=2)
    week = compare(store)
    assert week is not None
    assert not week.shown


def test_too_few_items_of_one_week_give_no_comparison(store: Store) -> None:
    practise(store, day=2, x50_db=-6.0, count=MIN_WEEK_TRIALS - 1)
    practise(store, day=9, x50_db=-6.0, seed=2)
    assert compare(store) is None


def test_other_set_ups_older_sessions_and_measurements_do_not_count(store: Store) -> None:
    practise(store, day=-1, x50_db=-6.0)
    practise(store, day=3, x50_db=-6.0, pace=1.5)
    record_session(store, Measurement.from_plan(sample_plan(5, count=30), store), day=4)
    practise(store, day=9, x50_db=-6.0, seed=2)
    assert compare(store) is None
    practise(store, day=5, x50_db=-6.0, seed=3)
    week = compare(store)
    assert week is not None
    assert week.n_before == 40


def test_weeks_without_a_common_snr_give_no_comparison(store: Store) -> None:
    practise(store, day=2, x50_db=-6.0, snr_db=5.0)
    practise(store, day=9, x50_db=-6.0, seed=2, snr_db=-5.0)
    assert compare(store) is None


@pytest.mark.slow
def test_only_the_randomly_drawn_items_of_training_count(store: Store) -> None:
    """Every other item of training is chosen by the trainee's mistakes."""
    for day in (2, 9):
        kind = Training.from_plan(sample_plan(day, count=60), store)
        record_session(store, kind, SimulatedTrainee(day), day=day)
    week = compare(store)
    assert week is not None
    assert (week.n_before, week.n_now) == (30, 30)
