"""The character threshold of a quick check, and its placement rule."""

import math
from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drill.core.errors import UserError
from drill.psychometrics.character_threshold import (
    CharacterTrial,
    fit_character_threshold,
    next_check_level_db,
)
from drill.psychometrics.checks import MAX_INTERVAL_DB
from drill.psychometrics.curve import Curve

CHARACTER_CURVE = Curve(x50_db=-7.5, slope_per_db=0.12)


def simulated_check(sigma_db: float, seed: int) -> list[CharacterTrial]:
    """Return 30 items of six characters; sigma_db: SD of the shift of each item."""
    rng = np.random.default_rng(seed)
    trials = []
    for snr_db, shift in zip(rng.integers(-9, 0, 30).tolist(), rng.normal(size=30), strict=True):
        p = float(CHARACTER_CURVE.proportion_correct(snr_db - sigma_db * shift))
        trials.append(CharacterTrial(snr_db=snr_db, right=int(rng.binomial(6, p)), sent=6))
    return trials


def test_a_correlation_within_items_is_estimated_and_widens_the_interval() -> None:
    even = [fit_character_threshold(simulated_check(0.0, seed)) for seed in range(6)]
    uneven = [fit_character_threshold(simulated_check(3.0, seed)) for seed in range(6)]
    correlations = [
        np.mean([result.correlation.value for result in group]) for group in (even, uneven)
    ]
    sds = [np.mean([result.threshold_db.sd for result in group]) for group in (even, uneven)]
    assert correlations[0] < 0.05
    assert correlations[1] > 0.15
    assert sds[1] > 1.2 * sds[0]
    assert (even[0].items, even[0].characters) == (30, 180)


def test_the_order_of_items_does_not_matter() -> None:
    trials = simulated_check(3.0, 1)
    assert fit_character_threshold(trials[::-1]) == fit_character_threshold(trials)


@given(st.lists(st.integers(0, 6), min_size=1, max_size=40))
@settings(max_examples=25)
def test_a_character_threshold_is_finite_for_any_answers(answers: list[int]) -> None:
    trials: list[CharacterTrial] = []
    for right in answers:
        level = next_check_level_db(0.0, trials, -20.0, 20.0)
        assert -20 <= level <= 20
        trials.append(CharacterTrial(snr_db=level, right=right, sent=6))
    result = fit_character_threshold(trials)
    for quantity in (result.threshold_db, result.correlation, result.slope_per_db):
        assert quantity.low <= quantity.value <= quantity.high and math.isfinite(quantity.sd)
    assert any(flag.key == "few" for flag in result.flags) == (len(answers) < 20)
    width_db = result.threshold_db.high - result.threshold_db.low
    assert any(flag.key == "wide" for flag in result.flags) == (width_db > MAX_INTERVAL_DB)


def test_steps_shrink_with_each_reversal() -> None:
    trials = [CharacterTrial(snr_db=0.0, right=6 * (i % 2), sent=6) for i in range(30)]
    steps = [abs(next_check_level_db(0.0, trials[: n + 1])) for n in range(1, 30, 2)]
    assert steps == sorted(steps, reverse=True)
    assert steps[-1] == pytest.approx(0.1 * 0.25 / 0.12, abs=0.051)


def test_tracks_take_turns_and_do_not_affect_each_other() -> None:
    """Items 1 and 3 belong to the first track, items 2 and 4 to the second."""
    missed, copied = (CharacterTrial(snr_db=0.0, right=n, sent=6) for n in (0, 6))
    targets = (0.65, 0.85)
    assert next_check_level_db(5.0, [missed], targets=targets) == 5.0
    first = next_check_level_db(5.0, [missed, copied], targets=targets)
    assert first == next_check_level_db(5.0, [missed], targets=(0.65,)) > 0
    second = next_check_level_db(5.0, [missed, copied, missed], targets=targets)
    assert second == next_check_level_db(5.0, [copied], targets=(0.85,)) < 0


def test_long_calls_do_not_overflow() -> None:
    trials = [CharacterTrial(snr_db=0.0, right=right, sent=90) for right in (0, 45, 90)]
    assert math.isfinite(fit_character_threshold(trials).threshold_db.sd)


def test_a_character_threshold_is_not_called_x50() -> None:
    result = fit_character_threshold([CharacterTrial(snr_db=-4.0, right=4, sent=6)])
    assert not hasattr(result, "x50_db")


@pytest.mark.parametrize(
    "call",
    [
        lambda: CharacterTrial(snr_db=0.0, right=7, sent=6),
        lambda: CharacterTrial(snr_db=0.0, right=0, sent=0),
        lambda: CharacterTrial(snr_db=math.nan, right=0, sent=1),
        lambda: fit_character_threshold([]),
    ],
)
def test_invalid_input_gives_a_one_line_error(call: Callable[[], object]) -> None:
    with pytest.raises(UserError) as error:
        call()
    assert "\n" not in str(error.value) and str(error.value)
