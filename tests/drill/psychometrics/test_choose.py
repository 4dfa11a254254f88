"""Costs of labels, weights of characters, character thresholds, intervals."""

import math
from collections.abc import Callable
from string import ascii_uppercase

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
from drill.psychometrics.curve import Curve
from drill.psychometrics.intervals import (
    Interval,
    Quantity,
    difference_interval,
    newcombe,
    smallest_detectable_change,
    summary,
    trend,
    wilson,
)
from drill.psychometrics.label_costs import ENOUGH, Observation, easier_db, offsets, weights

CURVE = Curve(x50_db=-7.5, slope_per_db=0.12)


def heard(costs: dict[str, float], times: int, seed: int = 1) -> list[Observation]:
    rng = np.random.default_rng(seed)
    return [
        Observation(
            label=label,
            snr_db=snr_db,
            right=float(rng.random() < float(CURVE.probability(snr_db - cost))),
        )
        for label, cost in costs.items()
        for snr_db in rng.uniform(-10, 0, times).round(1)
    ]


def test_costs_are_found_and_shrunk() -> None:
    rng = np.random.default_rng(3)
    costs = dict(zip(ascii_uppercase, rng.normal(0, 2, 26).tolist(), strict=True))
    few, many = offsets(heard(costs, 8), CURVE), offsets(heard(costs, 200), CURVE)
    for label, cost in costs.items():
        assert many[label].cost_db.value == pytest.approx(cost, abs=1.6)
        assert many[label].cost_db.sd < few[label].cost_db.sd
    held = [many[x].cost_db.low <= costs[x] <= many[x].cost_db.high for x in costs]
    assert np.mean(held) >= 0.85
    assert np.std([few[x].cost_db.value for x in costs]) < 2.0


def test_costs_have_honest_intervals() -> None:
    held, errors = [], []
    for seed in range(12):
        rng = np.random.default_rng(seed)
        costs = dict(zip(ascii_uppercase, rng.normal(0, 2, 26).tolist(), strict=True))
        got = offsets(heard(costs, ENOUGH, seed), CURVE)
        held += [got[x].cost_db.low <= costs[x] <= got[x].cost_db.high for x in costs]
        errors += [got[x].cost_db.value - costs[x] for x in costs]
    assert 0.92 <= np.mean(held) <= 0.98
    assert np.std(errors) < 1.1  # an SD of about 1 dB at ENOUGH


def test_a_label_is_told_only_from_enough_items() -> None:
    got = offsets([*heard({"A": 3.0}, ENOUGH), *heard({"B": 3.0}, ENOUGH - 1)], CURVE)
    assert got["A"].enough and not got["B"].enough
    assert (got["A"].n, got["B"].n) == (ENOUGH, ENOUGH - 1)
    assert offsets([], CURVE) == {}


@given(st.randoms(use_true_random=False))
@settings(max_examples=10, deadline=None)
def test_the_order_of_observations_is_of_no_account(shuffler: object) -> None:
    some = heard({"A": 2.0, "B": -1.0, "C": 0.0}, 20)
    mixed = sorted(some, key=lambda _: shuffler.random())  # type: ignore[attr-defined]
    one, two = offsets(some, CURVE), offsets(mixed, CURVE)
    assert list(one) == list(two)
    for label, offset in one.items():
        assert offset.cost_db.value == pytest.approx(two[label].cost_db.value, abs=1e-9)


@given(
    st.dictionaries(st.sampled_from(ascii_uppercase), st.floats(-10, 10), min_size=1),
    st.floats(-20, 20),
)
@settings(deadline=None)
def test_weights_are_shares_and_capped(costs: dict[str, float], snr_db: float) -> None:
    some = offsets(heard(costs, 3), CURVE)
    got = weights(list(ascii_uppercase), some, snr_db, CURVE)
    assert sum(got.values()) == pytest.approx(1)
    assert max(got.values()) <= 3 / 26 + 1e-9
    assert min(got.values()) >= 0.25 / 26


def test_hard_characters_come_more_often_and_easier() -> None:
    some = offsets(heard({"A": 6.0, "B": -6.0, "C": 0.0}, 100), CURVE)
    got = weights(["A", "B", "C", "D"], some, 0.0, CURVE)
    assert got["A"] > got["C"] > got["B"]
    one = weights(["A", *(x for x in ascii_uppercase if x > "D")], some, 10.0, CURVE)
    assert one["A"] == pytest.approx(3 / 23)
    assert easier_db(["A", "B"], some) == pytest.approx(
        (some["A"].cost_db.value + some["B"].cost_db.value) / 2
    )
    assert easier_db([], some) == 0 == easier_db(["D"], some)


def checked(sigma_db: float, seed: int) -> list[CharacterTrial]:
    rng = np.random.default_rng(seed)
    return [
        CharacterTrial(
            snr_db=snr_db,
            right=int(rng.binomial(6, float(CURVE.probability(snr_db - sigma_db * shift)))),
            sent=6,
        )
        for snr_db, shift in zip(rng.integers(-9, 0, 30).tolist(), rng.normal(size=30), strict=True)
    ]


def test_a_character_threshold_knows_its_items() -> None:
    """Items with shifts of their own: they are seen, and the interval is wider for them."""
    even = [fit_character_threshold(checked(0.0, seed)) for seed in range(6)]
    uneven = [fit_character_threshold(checked(3.0, seed)) for seed in range(6)]
    sigmas = [np.mean([one.sigma_db.value for one in group]) for group in (even, uneven)]
    widths = [np.mean([one.threshold_db.sd for one in group]) for group in (even, uneven)]
    assert sigmas[0] < 1.2
    assert sigmas[1] > 2
    assert widths[1] > 1.2 * widths[0]
    assert (even[0].items, even[0].characters) == (30, 180)
    assert fit_character_threshold(checked(3.0, 1)[::-1]) == fit_character_threshold(
        checked(3.0, 1)
    )


@given(st.lists(st.integers(0, 6), min_size=1, max_size=40))
@settings(max_examples=25, deadline=None)
def test_a_character_threshold_is_a_number(rights: list[int]) -> None:
    trials: list[CharacterTrial] = []
    for right in rights:
        level = next_check_level_db(0.0, trials, -20.0, 20.0)
        assert -20 <= level <= 20
        trials.append(CharacterTrial(snr_db=level, right=right, sent=6))
    got = fit_character_threshold(trials)
    for one in (got.threshold_db, got.sigma_db, got.slope_per_db):
        assert one.low <= one.value <= one.high and math.isfinite(one.sd)
    assert any(flag.key == "few" for flag in got.flags) == (len(rights) < 20)


def test_steps_of_the_check_shrink_with_reversals() -> None:
    trials = [CharacterTrial(snr_db=0.0, right=6 * (i % 2), sent=6) for i in range(30)]
    steps = [abs(next_check_level_db(0.0, trials[: n + 1])) for n in range(1, 30, 2)]
    assert steps == sorted(steps, reverse=True)
    assert steps[-1] == pytest.approx(0.1 * 0.25 / 0.12, abs=0.051)


@given(st.integers(1, 500), st.data())
def test_shares_have_intervals_within_0_and_1(n: int, data: st.DataObject) -> None:
    k = data.draw(st.integers(0, n))
    got = wilson(k, n)
    assert 0 <= got.low <= got.value <= got.high <= 1
    other = newcombe(k, n, n - k, n)
    assert -1 <= other.low <= other.value <= other.high <= 1


def test_differences_add_as_squares() -> None:
    a = Interval(value=1.0, low=-2.0, high=5.0)
    b = Interval(value=0.5, low=-3.5, high=3.5)
    assert difference_interval(a, b) == Interval(
        value=0.5, low=0.5 - math.hypot(3, 3), high=0.5 + 4 * 2**0.5
    )


def test_a_summary_is_that_of_a_normal() -> None:
    x = np.arange(-10, 10.01, 0.25)
    got = summary(x, np.exp(-0.5 * ((x - 1) / 0.5) ** 2))
    assert (got.value, got.sd) == pytest.approx((1.0, 0.5), abs=1e-6)
    assert (got.low, got.high) == pytest.approx((1 - 0.98, 1 + 0.98), abs=0.03)
    assert got.widened(2.0).high == pytest.approx(1 + 2 * (got.high - 1))


def test_a_trend_is_a_weighted_line() -> None:
    days = [0.0, 7.0, 14.0, 21.0, 28.0]
    flat = trend(days, [1.0, 0.0, 1.0, 0.0, 1.0], [1.0] * 5)
    assert flat.tau_db == 0 and flat.per_week_db.value == pytest.approx(0)
    steep = trend(days, [0.0, -1.0, -2.0, -3.0, -4.0], [0.3] * 5)
    assert steep.per_week_db.value == pytest.approx(-1.0)
    assert steep.per_week_db.high < 0
    assert steep.smallest_per_week_db == pytest.approx(-1.0 - steep.per_week_db.low)
    wild = trend(days, [0.0, 3.0, -3.0, 3.0, 0.0], [0.3] * 5)
    assert wild.tau_db == pytest.approx((25.2 / 3 - 0.3**2) ** 0.5)  # squares of the residuals
    assert smallest_detectable_change(0.55, 0.55) == pytest.approx(1.52, abs=0.01)


@pytest.mark.parametrize(
    "bad",
    [
        lambda: wilson(1, 0),
        lambda: wilson(3, 2),
        lambda: newcombe(-1, 2, 1, 2),
        lambda: smallest_detectable_change(-1.0, 1.0),
        lambda: trend([1, 2, 3], [1, 2, 3], [1, 1, 1]),
        lambda: trend([1, 1, 1, 1], [1, 2, 3, 4], [1, 1, 1, 1]),
        lambda: trend([1, 2, 3, 4], [1, 2, 3, 4], [1, 1, 0, 1]),
        lambda: Observation(label="A", snr_db=0.0, right=1.5),
        lambda: Observation(label="A", snr_db=math.nan, right=1.0),
        lambda: CharacterTrial(snr_db=0.0, right=7, sent=6),
        lambda: CharacterTrial(snr_db=0.0, right=0, sent=0),
        lambda: CharacterTrial(snr_db=math.nan, right=0, sent=1),
        lambda: fit_character_threshold([]),
        lambda: weights([], {}, 0.0, CURVE),
        lambda: weights(["A", "A"], {}, 0.0, CURVE),
    ],
)
def test_bad_input_is_one_line(bad: Callable[[], object]) -> None:
    with pytest.raises(UserError) as told:
        bad()
    assert "\n" not in str(told.value) and str(told.value)


def test_a_character_threshold_is_no_threshold_of_items() -> None:
    got = fit_character_threshold([CharacterTrial(snr_db=-4.0, right=4, sent=6)])
    assert isinstance(got.threshold_db, Quantity)
    assert not hasattr(got, "x50_db")
