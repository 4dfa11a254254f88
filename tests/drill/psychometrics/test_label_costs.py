"""Costs of labels in dB."""

import math
from string import ascii_uppercase

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drill.core.errors import UserError
from drill.psychometrics.curve import Curve
from drill.psychometrics.label_costs import MIN_OBSERVATIONS, Observation, estimate_label_costs

CURVE = Curve(x50_db=-7.5, slope_per_db=0.12)


def simulated_observations(
    costs: dict[str, float], per_label: int, seed: int = 1
) -> list[Observation]:
    """Return observations of labels with known costs in dB, at SNRs from -10 to 0 dB."""
    rng = np.random.default_rng(seed)
    return [
        Observation(
            label=label,
            snr_db=snr_db,
            right=float(rng.random() < float(CURVE.proportion_correct(snr_db - cost))),
        )
        for label, cost in costs.items()
        for snr_db in rng.uniform(-10, 0, per_label).round(1)
    ]


def random_costs(seed: int) -> dict[str, float]:
    rng = np.random.default_rng(seed)
    return dict(zip(ascii_uppercase, rng.normal(0, 2, 26).tolist(), strict=True))


def test_costs_are_recovered_and_shrunk() -> None:
    true_costs = random_costs(3)
    few = estimate_label_costs(simulated_observations(true_costs, 8), CURVE)
    many = estimate_label_costs(simulated_observations(true_costs, 200), CURVE)
    for label, true_cost in true_costs.items():
        assert many[label].cost_db.value == pytest.approx(true_cost, abs=1.6)
        assert many[label].cost_db.sd < few[label].cost_db.sd
    covered = [many[x].cost_db.low <= true_costs[x] <= many[x].cost_db.high for x in true_costs]
    assert np.mean(covered) >= 0.85
    assert np.std([few[label].cost_db.value for label in true_costs]) < 2.0


def test_intervals_of_costs_cover_the_true_value() -> None:
    covered, errors = [], []
    for seed in range(12):
        true_costs = random_costs(seed)
        observations = simulated_observations(true_costs, MIN_OBSERVATIONS, seed)
        costs = estimate_label_costs(observations, CURVE)
        for label, true_cost in true_costs.items():
            quantity = costs[label].cost_db
            covered.append(quantity.low <= true_cost <= quantity.high)
            errors.append(quantity.value - true_cost)
    assert 0.92 <= np.mean(covered) <= 0.98
    assert np.std(errors) < 1.1  # about 1 dB at MIN_OBSERVATIONS


def test_a_cost_is_reported_only_with_enough_observations() -> None:
    costs = estimate_label_costs(
        [
            *simulated_observations({"A": 3.0}, MIN_OBSERVATIONS),
            *simulated_observations({"B": 3.0}, MIN_OBSERVATIONS - 1),
        ],
        CURVE,
    )
    assert costs["A"].has_enough_data and not costs["B"].has_enough_data
    assert (costs["A"].n, costs["B"].n) == (MIN_OBSERVATIONS, MIN_OBSERVATIONS - 1)


def test_without_observations_there_are_no_costs() -> None:
    assert estimate_label_costs([], CURVE) == {}


@given(st.randoms(use_true_random=False))
@settings(max_examples=10)
def test_the_order_of_observations_does_not_matter(shuffler: object) -> None:
    observations = simulated_observations({"A": 2.0, "B": -1.0, "C": 0.0}, 20)
    shuffled = sorted(observations, key=lambda _: shuffler.random())  # type: ignore[attr-defined]
    costs = estimate_label_costs(observations, CURVE)
    again = estimate_label_costs(shuffled, CURVE)
    assert list(costs) == list(again)
    for label, cost in costs.items():
        assert cost.cost_db.value == pytest.approx(again[label].cost_db.value, abs=1e-9)


@pytest.mark.parametrize(
    ("values", "field"), [({"right": 1.5}, "right"), ({"snr_db": math.nan}, "snr_db")]
)
def test_an_observation_out_of_range_is_refused(values: dict[str, float], field: str) -> None:
    with pytest.raises(UserError) as error:
        Observation(**{"label": "A", "snr_db": 0.0, "right": 1.0, **values})  # type: ignore[arg-type]
    assert error.value.field == field
    assert "\n" not in str(error.value)
