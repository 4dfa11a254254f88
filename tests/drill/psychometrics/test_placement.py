"""The next level depends only on seed and trials, stays in its range, and meets its targets."""

import json

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drill.core.errors import UserError
from drill.psychometrics.grid import Prior, Trial
from drill.psychometrics.placement import (
    MEASUREMENT_TARGETS,
    TRAINING_TARGETS,
    WARM_UP_ITEMS,
    WARM_UP_SNR_DB,
    Placement,
    next_level,
)
from tests.tools.simulated_listeners import ASSUMED_CURVE, SimulatedListener, take_block

LISTENER = SimulatedListener(curve=ASSUMED_CURVE)


@given(st.integers(0, 2**40), st.lists(st.booleans(), max_size=25))
@settings(max_examples=25)
def test_an_interrupted_block_continues_as_it_would_have(seed: int, answers: list[bool]) -> None:
    placement = Placement(seed=seed, warm_ups=2)
    trials: list[Trial] = []
    for right in answers:
        level = next_level(placement, trials)
        trials.append(Trial(snr_db=level.snr_db, right=right, warm_up=level.warm_up))
    for answered, trial in enumerate(trials):
        level = next_level(placement, list(trials[:answered]))
        assert (level.snr_db, level.warm_up) == (trial.snr_db, trial.warm_up)


@given(st.integers(0, 1000), st.booleans(), st.floats(-20, 0), st.floats(1, 20))
@settings(max_examples=25)
def test_levels_stay_within_the_range_and_on_steps_of_half_a_db(
    seed: int, right: bool, low_db: float, high_db: float
) -> None:
    placement = Placement(seed=seed, low_db=low_db, high_db=high_db)
    trials: list[Trial] = []
    for _ in range(25):
        snr_db = next_level(placement, trials).snr_db
        assert low_db <= snr_db <= high_db
        assert (2 * snr_db).is_integer()
        trials.append(Trial(snr_db=snr_db, right=right))


def test_targets_come_in_shuffled_groups_of_three() -> None:
    trials: list[Trial] = []
    targets = []
    for i in range(60):
        targets.append(next_level(Placement(seed=4), trials).target)
        trials.append(Trial(snr_db=-3.0, right=i % 2 == 0))
    groups = [tuple(targets[i : i + 3]) for i in range(0, 60, 3)]
    assert all(sorted(group) == sorted(MEASUREMENT_TARGETS) for group in groups)
    assert len(set(groups)) > 3


def test_a_new_listener_starts_with_warm_ups() -> None:
    placement = Placement(seed=1, warm_ups=WARM_UP_ITEMS)
    trials = take_block(LISTENER, placement, 3, np.random.default_rng(1))
    assert [trial.warm_up for trial in trials] == [True] * 5 + [False] * 3
    assert {trial.snr_db for trial in trials[:5]} == {WARM_UP_SNR_DB}
    missed = [Trial(snr_db=10.0, right=False, warm_up=True)] * 5
    assert next_level(placement, missed) == next_level(placement, trials[:5])
    narrow = Placement(seed=1, warm_ups=1, high_db=4.0)
    assert next_level(narrow, []).snr_db == 4.0


@pytest.mark.parametrize(
    ("targets", "expected"), [(MEASUREMENT_TARGETS, 0.62), (TRAINING_TARGETS, 0.77)]
)
def test_the_proportion_correct_is_that_of_the_targets(
    targets: tuple[float, ...], expected: float
) -> None:
    rng = np.random.default_rng(2)
    blocks = [
        take_block(LISTENER, Placement(seed=seed, targets=targets), 60, rng) for seed in range(20)
    ]
    right = [trial.right for block in blocks for trial in block]
    assert np.mean(right) == pytest.approx(expected, abs=0.04)


def test_a_placement_stored_by_version_0_2_0_is_read() -> None:
    """The text is the JSON that version 0.2.0 wrote into its record."""
    text = (
        '{"seed": 7, "prior": {"guess_db": -4.25, "guess_sd_db": 6.0, "slope_per_db": 0.17, '
        '"slope_log_sd": 0.31, "chance": 5.95e-07, "lapse_weights": [0.2, 0.25, 0.25, 0.2, 0.1]}, '
        '"targets": [0.35, 0.65, 0.85], "low_db": -24.0, "high_db": 20.0, "warm_ups": 5}'
    )
    placement = Placement.from_dict(json.loads(text))
    prior = Prior(
        threshold_mean_db=-4.25,
        slope_per_db=0.17,
        slope_log_sd=0.31,
        guess_rate=5.95e-07,
        lapse_weights=(0.2, 0.25, 0.25, 0.2, 0.1),
    )
    assert placement == Placement(seed=7, prior=prior, warm_ups=5)
    assert json.dumps(placement.to_dict()) == text


@pytest.mark.parametrize(
    ("values", "field"),
    [
        ({"low_db": 3.0, "high_db": 3.0}, "low_db"),
        ({"high_db": 80.0}, "low_db"),
        ({"targets": ()}, "targets"),
        ({"targets": (1.0,)}, "targets"),
    ],
)
def test_a_placement_out_of_range_is_refused(values: dict[str, object], field: str) -> None:
    with pytest.raises(UserError) as error:
        Placement(seed=1, **values)  # type: ignore[arg-type]
    assert error.value.field == field
    assert "\n" not in str(error.value)


def test_a_trial_beyond_the_snr_range_is_refused() -> None:
    with pytest.raises(UserError, match="SNR 99 dB is out of range"):
        next_level(Placement(seed=1), [Trial(snr_db=99.0, right=True)])
