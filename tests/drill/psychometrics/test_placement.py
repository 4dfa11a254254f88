"""The next level: a function of seed and trials, within its range, at its targets."""

from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drill.core.errors import UserError
from drill.psychometrics.grid import Prior, Trial
from drill.psychometrics.placement import (
    MEASUREMENT_TARGETS,
    PRACTICE_TARGETS,
    WARM_UP_DB,
    WARM_UP_ITEMS,
    Placement,
    Stop,
    next_level,
)
from tests.tools.simulated_listeners import ASSUMED, LISTENERS, SimulatedListener, take_block

PERSON = SimulatedListener(name="one", curve=ASSUMED)


@given(st.integers(0, 2**40), st.lists(st.booleans(), max_size=25))
@settings(max_examples=25, deadline=None)
def test_a_block_that_was_broken_off_goes_on_as_it_would_have(
    seed: int, answers: list[bool]
) -> None:
    placement = Placement(seed=seed, warm_ups=2)
    straight: list[Trial] = []
    for right in answers:
        level = next_level(placement, straight)
        straight.append(Trial(snr_db=level.snr_db, right=right, warm_up=level.warm_up))
    for done in range(len(answers)):
        level = next_level(placement, list(straight[:done]))
        assert (level.snr_db, level.warm_up) == (straight[done].snr_db, straight[done].warm_up)


@given(st.integers(0, 1000), st.booleans(), st.floats(-20, 0), st.floats(1, 20))
@settings(max_examples=25, deadline=None)
def test_levels_keep_to_the_range_and_the_steps(
    seed: int, right: bool, low_db: float, high_db: float
) -> None:
    placement = Placement(seed=seed, low_db=low_db, high_db=high_db)
    trials: list[Trial] = []
    for _ in range(25):
        snr_db = next_level(placement, trials).snr_db
        assert low_db <= snr_db <= high_db
        assert (2 * snr_db).is_integer()
        trials.append(Trial(snr_db=snr_db, right=right))


def test_targets_come_in_threes_each_in_its_own_order() -> None:
    trials: list[Trial] = []
    targets = []
    for i in range(60):
        targets.append(next_level(Placement(seed=4), trials).target)
        trials.append(Trial(snr_db=-3.0, right=i % 2 == 0))
    threes = [tuple(targets[i : i + 3]) for i in range(0, 60, 3)]
    assert all(sorted(three) == sorted(MEASUREMENT_TARGETS) for three in threes)
    assert len(set(threes)) > 3


def test_a_new_listener_warms_up_first() -> None:
    placement = Placement(seed=1, warm_ups=WARM_UP_ITEMS)
    trials = take_block(PERSON, placement, 3, np.random.default_rng(1))
    assert [t.warm_up for t in trials] == [True] * 5 + [False] * 3
    assert {t.snr_db for t in trials[:5]} == {WARM_UP_DB}
    missed = [Trial(snr_db=10.0, right=False, warm_up=True)] * 5
    assert next_level(placement, missed) == next_level(placement, trials[:5])
    short = Placement(seed=1, warm_ups=1, high_db=4.0)
    assert next_level(short, []).snr_db == 4.0


@pytest.mark.parametrize(
    ("targets", "share"), [(MEASUREMENT_TARGETS, 0.62), (PRACTICE_TARGETS, 0.77)]
)
def test_the_share_right_is_that_of_the_targets(targets: tuple[float, ...], share: float) -> None:
    rng = np.random.default_rng(2)
    blocks = [take_block(PERSON, Placement(seed=s, targets=targets), 60, rng) for s in range(20)]
    assert np.mean([t.right for b in blocks for t in b]) == pytest.approx(share, abs=0.04)


def test_a_block_ends_by_count_or_by_width() -> None:
    steep = next(one for one in LISTENERS if one.name == "double slope")
    trials = take_block(steep, Placement(seed=3), 60, np.random.default_rng(3))
    prior = Prior()
    assert Stop().reached(trials, prior)
    assert not Stop().reached(trials[:59], prior)
    assert not Stop(width_db=20.0).reached(trials[:39], prior)
    assert Stop(width_db=20.0).reached(trials[:40], prior)
    assert not Stop(width_db=0.1).reached(trials[:59], prior)
    warm = [Trial(snr_db=10.0, right=True, warm_up=True)] * 5
    assert not Stop().reached([*warm, *trials[:59]], prior)


def test_shifts_of_a_listener_are_what_they_are_said_to_be() -> None:
    rng = np.random.default_rng(5)
    person = SimulatedListener(name="one", curve=ASSUMED, wander_sd_db=2.0, memory=0.8)
    shifts = person.shifts_db(20_000, rng)
    assert shifts.std() == pytest.approx(2.0, abs=0.15)
    assert np.corrcoef(shifts[:-1], shifts[1:])[0, 1] == pytest.approx(0.8, abs=0.02)
    tired = SimulatedListener(name="one", curve=ASSUMED, tires_db=2.0).shifts_db(61, rng)
    assert tired[-1] - tired[0] == pytest.approx(2.0)
    assert SimulatedListener(name="one", curve=ASSUMED).at(0.8) == pytest.approx(ASSUMED.at(0.8))
    heard = ASSUMED.probability(-1.0 - shifts).mean()
    assert person.average(-1.0) == pytest.approx(heard, abs=0.02)


@pytest.mark.parametrize(
    "bad",
    [
        lambda: Placement(seed=1, low_db=3.0, high_db=3.0),
        lambda: Placement(seed=1, high_db=80.0),
        lambda: Placement(seed=1, targets=()),
        lambda: Placement(seed=1, targets=(1.0,)),
        lambda: Stop(items=0),
        lambda: Stop(width_db=0.0),
        lambda: next_level(Placement(seed=1), [Trial(snr_db=99.0, right=True)]),
    ],
)
def test_bad_input_is_one_line(bad: Callable[[], object]) -> None:
    with pytest.raises(UserError) as told:
        bad()
    assert "\n" not in str(told.value) and str(told.value)
