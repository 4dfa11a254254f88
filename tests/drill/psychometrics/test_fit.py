"""The fit of whole items: what has to hold whatever was answered."""

import math
from dataclasses import fields, replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drill.core.errors import UserError
from drill.psychometrics.checks import dependence, goodness
from drill.psychometrics.curve import Curve
from drill.psychometrics.grid import Prior, Trial, predict, weigh
from drill.psychometrics.intervals import Quantity
from drill.psychometrics.placement import Placement
from drill.psychometrics.posterior import (
    Estimate,
    fit,
    pool,
    prior_from_estimates,
    proportion_at_power,
)
from tests.tools.simulated_listeners import ASSUMED, SimulatedListener, take_block

TRIALS = st.lists(
    st.builds(Trial, snr_db=st.floats(-20, 20), right=st.booleans()), min_size=1, max_size=80
)
CURVES = st.builds(
    Curve,
    x50_db=st.floats(-20, 20),
    slope_per_db=st.floats(0.03, 0.6),
    lapse=st.floats(0, 0.2),
    guess_rate=st.floats(0, 0.3),
)


def rng() -> np.random.Generator:
    return np.random.default_rng(1)


def block(items: int, seed: int, curve: Curve = ASSUMED, **listener: float) -> list[Trial]:
    person = SimulatedListener(name="one", curve=curve, **listener)
    return take_block(person, Placement(seed=seed), items, np.random.default_rng(seed))


def quantities(estimate: Estimate) -> list[Quantity]:
    found = [getattr(estimate, f.name) for f in fields(estimate)]
    return [one for one in found if isinstance(one, Quantity)]


@given(CURVES, st.lists(st.floats(-50, 50), min_size=2, max_size=20))
def test_a_curve_rises_between_its_ends(curve: Curve, levels: list[float]) -> None:
    shares = curve.probability(np.sort(levels))
    assert (np.diff(shares) >= 0).all()
    assert (shares >= curve.guess_rate - 1e-12).all() and (shares <= 1 - curve.lapse + 1e-12).all()


@given(CURVES, st.floats(0.01, 0.99))
def test_quantiles_are_those_of_the_absolute_curve(curve: Curve, q: float) -> None:
    snr_db = curve.at(q)
    if curve.guess_rate < q < 1 - curve.lapse:
        assert snr_db is not None
        if abs(snr_db) < 100:
            assert float(curve.probability(snr_db)) == pytest.approx(q, abs=1e-6)
    else:
        assert snr_db is None
    assert curve.at(0.5) == pytest.approx(curve.x50_db)
    near = curve.probability(curve.x50_db + np.array([-1e-4, 1e-4]))
    assert (near[1] - near[0]) / 2e-4 == pytest.approx(curve.slope_per_db, rel=1e-4)


@given(TRIALS, st.randoms(use_true_random=False))
@settings(max_examples=30, deadline=None)
def test_the_order_of_trials_moves_no_estimate(trials: list[Trial], shuffler: object) -> None:
    mixed = sorted(trials, key=lambda _: shuffler.random())  # type: ignore[attr-defined]
    one, two = fit(trials, Prior(), rng()), fit(mixed, Prior(), rng())
    assert [q.value for q in quantities(one)] == [q.value for q in quantities(two)]
    narrow = [q.widened(1 / e.widening) for e in (one, two) for q in [e.x50_db]]
    assert narrow[0].low == pytest.approx(narrow[1].low, abs=1e-9)


@given(TRIALS, st.floats(-30, 30), st.floats(0, 0.4))
@settings(max_examples=30, deadline=None)
def test_every_figure_is_a_number_inside_its_interval(
    trials: list[Trial], threshold_mean_db: float, guess_rate: float
) -> None:
    got = fit(trials, Prior(threshold_mean_db=threshold_mean_db, guess_rate=guess_rate), rng())
    for one in [*quantities(got), got.share(-3.0)]:
        assert all(map(math.isfinite, (one.low, one.value, one.high, one.sd)))
        assert one.low <= one.value <= one.high
        assert one.sd >= 0
    assert 0 <= got.goodness.p <= 1
    assert got.widening >= 1


@pytest.mark.parametrize("right", [True, False])
def test_all_or_none_right_says_so(right: bool) -> None:
    got = fit([Trial(snr_db=float(x), right=right) for x in range(-30, 30)], Prior(), rng())
    keys = {flag.key for flag in got.flags}
    assert {"one-sided", "wide"} <= keys
    assert got.x50_db.value < -15 if right else got.x50_db.value > 15


def test_intervals_narrow_as_items_come() -> None:
    trials = block(400, 5)
    widths = [
        got.x50_db.high - got.x50_db.low
        for n in (20, 60, 150, 400)
        for got in [fit(trials[:n], Prior(), rng())]
    ]
    assert widths == sorted(widths, reverse=True)
    assert widths[-1] < 0.4 * widths[1] * 1.25


def test_the_truth_is_found_by_many_items() -> None:
    blocks = [block(60, seed) for seed in range(8)]
    got = fit([t for one in blocks for t in one], Prior(), rng())
    assert got.x50_db.value == pytest.approx(-3.0, abs=0.6)
    assert got.x80_db.value == pytest.approx(-0.63, abs=0.8)
    assert got.slope_per_db.value == pytest.approx(0.15, rel=0.25)
    assert (got.n, got.right) == (480, sum(t.right for one in blocks for t in one))
    band = got.share(-3.0)
    assert band.low < 0.5 < band.high
    assert band.high - band.low < 0.2
    assert got.share(-60.0).value < 0.001
    assert got.curve.at(0.5) == pytest.approx(got.x50_db.value)


def test_levels_between_the_steps_are_fitted_as_they_are() -> None:
    """All levels 0.13 dB higher: the threshold is as much higher."""
    trials = block(60, 2)
    higher = [replace(t, snr_db=t.snr_db + 0.13) for t in trials]
    wide = Prior(threshold_sd_db=1e3)
    change = fit(higher, wide, rng()).x50_db.value - fit(trials, wide, rng()).x50_db.value
    assert change == pytest.approx(0.13, abs=0.005)


def test_chance_is_not_taken_for_hearing() -> None:
    curve = Curve(x50_db=-3.0, slope_per_db=0.12, guess_rate=0.25)
    trials = block(600, 3, curve)
    aware = fit(trials, Prior(guess_rate=0.25), rng())
    assert aware.x50_db.low <= -3.0 <= aware.x50_db.high
    assert aware.share(-40.0).value == pytest.approx(0.25, abs=0.01)
    assert fit(trials, Prior(), rng()).share(-40.0).value < 0.01


def test_warm_ups_do_not_count() -> None:
    trials = block(40, 4)
    warm = [Trial(snr_db=10.0, right=False, warm_up=True)] * 5
    one, two = fit(trials, Prior(), rng()), fit([*warm, *trials], Prior(), rng())
    assert (one.x50_db, one.n) == (two.x50_db, two.n)


def test_power_is_a_shift_along_the_curve() -> None:
    trials = [t for seed in range(8) for t in block(60, seed)]
    got = fit(trials, Prior(), rng())
    same = proportion_at_power(got, 0.0)
    fifth = proportion_at_power(got, 10 * math.log10(20 / 100))
    assert same is not None and fifth is not None
    assert same.value == pytest.approx(0.5)
    assert fifth.value == pytest.approx(float(ASSUMED.probability(-3 - 6.9897)), abs=0.02)
    assert fifth.low < fifth.value < fifth.high
    assert proportion_at_power(got, -7.0, q=0.99) is None


def test_alike_neighbours_widen_the_interval() -> None:
    """Runs of ten right and ten wrong at one level, against the same in mixed order."""
    runs = [Trial(snr_db=-3.0, right=(i // 10) % 2 == 0) for i in range(120)]
    mixed = [runs[i] for i in np.random.default_rng(2).permutation(120)]
    alike, other = fit(runs, Prior(), rng()), fit(mixed, Prior(), rng())
    assert alike.widening > 1.5
    assert other.widening < 1.15
    assert alike.x50_db.sd == pytest.approx(other.x50_db.sd * alike.widening / other.widening)
    assert dependence([[Trial(snr_db=-3.0, right=True)] * 10], ASSUMED) == 1.0


def test_goodness_finds_a_curve_that_is_none() -> None:
    at = {-10.0: 0.5, -5.0: 0.05, 0.0: 0.95, 5.0: 0.5}
    bent = [Trial(snr_db=x, right=i < round(30 * p)) for x, p in at.items() for i in range(30)]
    assert fit(bent, Prior(), rng()).goodness.p < 0.01
    assert "misfit" in {flag.key for flag in fit(bent, Prior(), rng()).flags}


def test_goodness_is_seeded_and_leaves_true_blocks_alone() -> None:
    trials = block(60, 6)
    assert goodness(trials, ASSUMED, rng()) == goodness(trials, ASSUMED, rng())
    misfits = [goodness(block(60, seed), ASSUMED, rng()).p < 0.05 for seed in range(100)]
    assert np.mean(misfits) <= 0.1


def test_a_threshold_that_moves_is_told() -> None:
    """8 dB worse in the second half; and rarely told of one that stays."""
    worse = replace(ASSUMED, x50_db=5.0)
    moved = block(30, 1) + [
        Trial(snr_db=x, right=bool(r))
        for x in np.linspace(0, 8, 30)
        for r in [np.random.default_rng(int(10 * x)).random() < worse.probability(float(x))]
    ]
    flags = {f.key: f.words for f in fit(moved, Prior(), rng()).flags}
    assert "rose" in flags["moving"]
    steady = [fit(block(60, s), Prior(), rng()).flags for s in range(60)]
    assert np.mean([any(f.key == "moving" for f in one) for one in steady]) <= 0.12


def test_lapses_at_the_bound_are_told() -> None:
    rather = [Trial(snr_db=x, right=i % 4 > 0) for x in (5.0, 10.0, 15.0) for i in range(40)]
    low = [Trial(snr_db=x, right=False) for x in (-15.0, -10.0) for _ in range(30)]
    middle = [Trial(snr_db=-3.0, right=i % 2 > 0) for i in range(40)]
    assert "lapses" in {f.key for f in fit([*rather, *low, *middle], Prior(), rng()).flags}


def test_little_data_is_told() -> None:
    keys = {flag.key for flag in fit(block(8, 1), Prior(), rng()).flags}
    assert {"few", "wide"} <= keys
    low = [Trial(snr_db=-6.0, right=i % 3 == 0) for i in range(60)]
    assert "x80-beyond" in {flag.key for flag in fit(low, Prior(), rng()).flags}


def test_pooling_few_days_is_one_fit_and_says_so() -> None:
    blocks = [block(60, 1), block(60, 2)]
    got = pool(blocks, Prior(), rng())
    one = fit([*blocks[0], *blocks[1]], Prior(), rng())
    assert got.tau_db is None
    assert "days" in {flag.key for flag in got.flags}
    assert got.x50_db.value == pytest.approx(one.x50_db.value)


def test_days_that_differ_widen_the_interval() -> None:
    alike = [block(60, seed) for seed in range(6)]
    apart = [
        [replace(t, snr_db=t.snr_db + 6 * (i % 2) - 3) for t in one] for i, one in enumerate(alike)
    ]
    near, far = pool(alike, Prior(), rng()), pool(apart, Prior(), rng())
    assert near.tau_db is not None and far.tau_db is not None
    assert near.tau_db.value < 1
    assert far.tau_db.value > 2
    assert far.x50_db.sd > 2 * near.x50_db.sd


def test_the_slope_is_remembered_and_the_threshold_is_not() -> None:
    steep = replace(ASSUMED, slope_per_db=0.3)
    estimates = [fit(block(60, seed, steep), Prior(), rng()) for seed in range(4)]
    known = prior_from_estimates(estimates)
    assert 0.18 < known.slope_per_db < 0.4
    assert known.slope_log_sd == pytest.approx(0.2)
    assert known.threshold_sd_db == Prior().threshold_sd_db
    assert known.threshold_mean_db == pytest.approx(estimates[-1].x50_db.value)
    one = prior_from_estimates(estimates[:1])
    assert 0.2 < one.slope_log_sd < Prior().slope_log_sd
    again = fit(block(60, 9, steep), known, rng())
    assert again.slope_per_db.sd < estimates[0].slope_per_db.sd


def test_what_is_expected_follows_the_posterior() -> None:
    trials = block(300, 8)
    weights = weigh(Prior(), trials)
    got = fit(trials, Prior(), rng())
    assert predict(Prior(), weights, -2.5) == pytest.approx(got.share(-2.5).value, abs=1e-4)


@pytest.mark.parametrize(
    "bad",
    [
        lambda: fit([], Prior(), rng()),
        lambda: fit([Trial(snr_db=1.0, right=True, warm_up=True)], Prior(), rng()),
        lambda: fit([Trial(snr_db=math.nan, right=True)], Prior(), rng()),
        lambda: fit([Trial(snr_db=51.0, right=True)], Prior(), rng()),
        lambda: prior_from_estimates([]),
        lambda: Prior(threshold_mean_db=math.nan),
        lambda: Prior(slope_per_db=0.0),
        lambda: Prior(slope_log_sd=0.0),
        lambda: Prior(guess_rate=0.5),
        lambda: Prior(lapse_weights=(1.0,)),
        lambda: Curve(x50_db=math.inf, slope_per_db=0.1),
        lambda: Curve(x50_db=0.0, slope_per_db=0.0),
        lambda: Curve(x50_db=0.0, slope_per_db=0.1, lapse=0.5),
        lambda: Curve(x50_db=0.0, slope_per_db=0.1, guess_rate=-0.1),
    ],
)
def test_bad_input_is_one_line(bad: object) -> None:
    with pytest.raises(UserError) as told:
        bad()  # type: ignore[operator]
    assert "\n" not in str(told.value) and str(told.value)
