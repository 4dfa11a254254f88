"""Simulated listeners with a known psychometric function, to validate the measurement.

They are not people. Only real records can show how attention, learning and fatigue vary in a
person.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache
from itertools import product

import numpy as np
from scipy.optimize import brentq
from scipy.special import ndtr, ndtri

from drill.core.arrays import FloatArray
from drill.psychometrics.character_threshold import CharacterTrial, next_check_level_db
from drill.psychometrics.curve import Curve, FloatOrArray
from drill.psychometrics.grid import Trial
from drill.psychometrics.placement import Placement, next_level

SHAPES: dict[str, tuple[Callable[[FloatArray], FloatArray], Callable[[float], float]]] = {
    "logistic": (lambda z: 1 / (1 + np.exp(-z)), lambda p: math.log(p / (1 - p))),
    "Gaussian": (ndtr, lambda p: float(ndtri(p))),
    "Weibull": (lambda z: -np.expm1(-np.exp(z)), lambda p: math.log(-math.log(1 - p))),
}
"""Standard psychometric functions and their inverses. A Weibull function of the amplitude ratio is
a Gumbel function of the level in dB."""

_NODES, _WEIGHTS = np.polynomial.hermite_e.hermegauss(21)


@dataclass(frozen=True, kw_only=True, slots=True)
class ShapedCurve:
    """A psychometric function whose shape need not be the logistic one of the product.

    x50_db, slope_per_db, lapse: as in `Curve`, lapses included. shape: a key of SHAPES.
    """

    x50_db: float
    slope_per_db: float
    lapse: float
    shape: str

    def proportion_correct(self, snr_db: FloatOrArray) -> FloatArray:
        """Return the proportion correct at SNRs in dB, as an array of the same shape."""
        function, inverse = SHAPES[self.shape]
        at_x50 = inverse(0.5 / (1 - self.lapse))
        step = 1e-5
        rise = np.diff(function(np.array([at_x50 - step, at_x50 + step])))[0] / (2 * step)
        scale = self.slope_per_db / ((1 - self.lapse) * rise)
        z = np.clip(at_x50 + scale * (np.asarray(snr_db) - self.x50_db), -700, 700)
        with np.errstate(over="ignore"):  # the Weibull function is 1 there
            return np.asarray((1 - self.lapse) * function(z))


@dataclass(frozen=True, kw_only=True, slots=True)
class SimulatedListener:
    """A listener who answers at random with the probability that the curve gives.

    name: label in tables. curve: psychometric function without shifts.
    shift_sd_db: SD of a random shift of the threshold from item to item, in dB.
    shift_correlation: correlation of the shifts of consecutive items, 0 to below 1.
    fatigue_db: linear rise of the threshold over a block, in dB.
    """

    name: str = "listener"
    curve: Curve | ShapedCurve
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
        fatigue = self.fatigue_db * np.linspace(-0.5, 0.5, 21)[:, None]
        proportions = self.curve.proportion_correct(snr_db - self.shift_sd_db * _NODES - fatigue)
        return float(proportions.mean(axis=0) @ _WEIGHTS / _WEIGHTS.sum())

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


SLOPES_PER_DB = (0.04, 0.06, 0.08, 0.12, 0.20)
LAPSES = (0.0, 0.02, 0.06)
SPREADS_DB = (0.0, 2.0, 4.0)
GRID_LISTENERS = tuple(
    SimulatedListener(
        name=f"{slope:.2f} {lapse:.2f} {shape} {spread:g}",
        curve=ShapedCurve(x50_db=-3.0, slope_per_db=slope, lapse=lapse, shape=shape),
        shift_sd_db=spread,
    )
    for slope, lapse, shape, spread in product(SLOPES_PER_DB, LAPSES, SHAPES, SPREADS_DB)
)
"""Every combination of slope, lapse rate, shape, and spread of the items' thresholds (SD in dB)."""
SHORTEST_CALL, LONGEST_CALL = 4, 6


def take_check(
    listener: SimulatedListener,
    start_db: float,
    items: int,
    targets: Sequence[float],
    rng: np.random.Generator,
) -> list[CharacterTrial]:
    """Return a quick check by a listener whose curve is that of single characters.

    Each call has 4 to 6 characters, which share the shift of their item.
    """
    trials: list[CharacterTrial] = []
    for shift_db in listener.shifts_db(items, rng):
        snr_db = next_check_level_db(start_db, trials, targets=targets)
        p = float(listener.curve.proportion_correct(snr_db - shift_db))
        sent = int(rng.integers(SHORTEST_CALL, LONGEST_CALL + 1))
        trials.append(CharacterTrial(snr_db=snr_db, right=int(rng.binomial(sent, p)), sent=sent))
    return trials


def simulated_block(items: int, seed: int, curve: Curve = ASSUMED_CURVE) -> list[Trial]:
    """Return the trials of one block with default placement by a listener without shifts."""
    return list(_simulated_block(items, seed, curve))


@cache
def _simulated_block(items: int, seed: int, curve: Curve) -> tuple[Trial, ...]:
    listener = SimulatedListener(curve=curve)
    return tuple(take_block(listener, Placement(seed=seed), items, np.random.default_rng(seed)))


def pooled_simulated_blocks(items: int, seeds: Sequence[int]) -> list[Trial]:
    """Return the trials of several simulated blocks, one after the other."""
    return [trial for seed in seeds for trial in simulated_block(items, seed)]
