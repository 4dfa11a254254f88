"""Simulated listeners with a known psychometric function, to validate the measurement.

They are not people. How attention, learning and fatigue vary in a person can only be learnt from
real records.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.optimize import brentq

from drill.core.arrays import FloatArray
from drill.psychometrics.curve import Curve
from drill.psychometrics.grid import Trial
from drill.psychometrics.placement import Placement, next_level


@dataclass(frozen=True, kw_only=True, slots=True)
class SimulatedListener:
    """A listener who answers at random with the probability that the curve gives.

    name: label in tables. curve: psychometric function without shifts.
    shift_sd_db: SD of a random shift of the threshold from item to item, in dB.
    shift_correlation: correlation of the shifts of consecutive items, 0 to below 1.
    fatigue_db: linear rise of the threshold over a block, in dB.
    """

    name: str = "listener"
    curve: Curve
    shift_sd_db: float = 0.0
    shift_correlation: float = 0.0
    fatigue_db: float = 0.0

    def shifts_db(self, n: int, rng: np.random.Generator) -> FloatArray:
        """Return the shift of the threshold at each of n items in dB, shape (n,), mean 0."""
        shifts = self.shift_sd_db * rng.standard_normal(n)
        innovation = math.sqrt(1 - self.shift_correlation**2)
        for i in range(1, n):
            shifts[i] = self.shift_correlation * shifts[i - 1] + innovation * shifts[i]
        return np.asarray(shifts + self.fatigue_db * np.linspace(-0.5, 0.5, n))

    def proportion_correct(self, snr_db: float) -> float:
        """Return the proportion correct at an SNR in dB, averaged over all shifts."""
        nodes, weights = np.polynomial.hermite_e.hermegauss(21)
        fatigue = self.fatigue_db * np.linspace(-0.5, 0.5, 21)[:, None]
        proportions = self.curve.proportion_correct(snr_db - self.shift_sd_db * nodes - fatigue)
        return float(proportions.mean(axis=0) @ weights / weights.sum())

    def snr_at(self, proportion: float) -> float:
        """Return the SNR in dB for an average proportion correct.

        Raises: ValueError if the listener never reaches the proportion.
        """
        return float(brentq(lambda x: self.proportion_correct(x) - proportion, -60, 60, xtol=1e-6))


ASSUMED_CURVE = Curve(x50_db=-3.0, slope_per_db=0.15, lapse=0.02)
"""The listener that the design of the measurement assumes: 15 % per dB, 2 % lapses."""
LISTENERS = (
    SimulatedListener(name="assumed", curve=ASSUMED_CURVE),
    SimulatedListener(name="no lapses", curve=Curve(x50_db=-3.0, slope_per_db=0.15)),
    SimulatedListener(name="8 % lapses", curve=Curve(x50_db=-3.0, slope_per_db=0.15, lapse=0.08)),
    SimulatedListener(name="half slope", curve=Curve(x50_db=-3.0, slope_per_db=0.075, lapse=0.02)),
    SimulatedListener(name="double slope", curve=Curve(x50_db=-3.0, slope_per_db=0.30, lapse=0.02)),
    SimulatedListener(name="independent shifts, SD 2 dB", curve=ASSUMED_CURVE, shift_sd_db=2.0),
    SimulatedListener(
        name="correlated shifts, SD 2 dB",
        curve=ASSUMED_CURVE,
        shift_sd_db=2.0,
        shift_correlation=0.8,
    ),
    SimulatedListener(name="fatigue, 2 dB per block", curve=ASSUMED_CURVE, fatigue_db=2.0),
)


def take_block(
    listener: SimulatedListener, placement: Placement, items: int, rng: np.random.Generator
) -> list[Trial]:
    """Return the trials of a block of `items` items that count, after the warm-ups."""
    trials: list[Trial] = []
    for shift_db in listener.shifts_db(placement.warm_ups + items, rng):
        level = next_level(placement, trials)
        p = float(listener.curve.proportion_correct(level.snr_db - shift_db))
        right = bool(rng.random() < p)
        trials.append(Trial(snr_db=level.snr_db, right=right, warm_up=level.warm_up))
    return trials


def simulated_block(items: int, seed: int, curve: Curve = ASSUMED_CURVE) -> list[Trial]:
    """Return the trials of one block with default placement by a listener without shifts."""
    listener = SimulatedListener(curve=curve)
    return take_block(listener, Placement(seed=seed), items, np.random.default_rng(seed))


def pooled_simulated_blocks(items: int, seeds: Sequence[int]) -> list[Trial]:
    """Return the trials of several simulated blocks, one after the other."""
    return [trial for seed in seeds for trial in simulated_block(items, seed)]
