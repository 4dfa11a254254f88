"""Simulated listeners of known truth, to hold the measurement against.

They are not people. What a person's wandering attention, learning and fatigue are like, only the
record can tell.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from drill.psychometrics.curve import Curve, Floats
from drill.psychometrics.grid import Trial
from drill.psychometrics.placement import Placement, StimulusLevel, next_level


@dataclass(frozen=True, kw_only=True, slots=True)
class SimulatedListener:
    """One listener.

    wander_sd_db: SD of a shift of the threshold that comes and goes; memory: its correlation from
    one item to the next. tires_db: by how much the threshold rises over a block, evenly.
    """

    name: str
    curve: Curve
    wander_sd_db: float = 0.0
    memory: float = 0.0
    tires_db: float = 0.0

    def shifts_db(self, n: int, rng: np.random.Generator) -> Floats:
        """Return the shift of the threshold at each of n items in dB, shape (n,), around 0."""
        push = self.wander_sd_db * rng.standard_normal(n)
        for i in range(1, n):
            push[i] = self.memory * push[i - 1] + math.sqrt(1 - self.memory**2) * push[i]
        return np.asarray(push + self.tires_db * np.linspace(-0.5, 0.5, n))

    def average(self, snr_db: float) -> float:
        """Return the share copied right at an SNR over all shifts: what is measured."""
        nodes, weights = np.polynomial.hermite_e.hermegauss(21)
        tired = self.tires_db * np.linspace(-0.5, 0.5, 21)[:, None]
        shares = self.curve.probability(snr_db - self.wander_sd_db * nodes - tired)
        return float(shares.mean(axis=0) @ weights / weights.sum())

    def at(self, q: float) -> float:
        """Return the SNR in dB at which the average share is q. Raises: ValueError out of reach."""
        from scipy.optimize import brentq

        return float(brentq(lambda x: self.average(x) - q, -60, 60, xtol=1e-6))


ASSUMED = Curve(x50_db=-3.0, slope_per_db=0.15, lapse=0.02)
"""The listener that the design assumes: 15 % a dB, 2 % lapses."""
LISTENERS = (
    SimulatedListener(name="assumed", curve=ASSUMED),
    SimulatedListener(name="no lapse", curve=Curve(x50_db=-3.0, slope_per_db=0.15)),
    SimulatedListener(name="lapses 8 %", curve=Curve(x50_db=-3.0, slope_per_db=0.15, lapse=0.08)),
    SimulatedListener(name="half slope", curve=Curve(x50_db=-3.0, slope_per_db=0.075, lapse=0.02)),
    SimulatedListener(name="double slope", curve=Curve(x50_db=-3.0, slope_per_db=0.30, lapse=0.02)),
    SimulatedListener(name="item by item, SD 2 dB", curve=ASSUMED, wander_sd_db=2.0),
    SimulatedListener(name="wandering, SD 2 dB", curve=ASSUMED, wander_sd_db=2.0, memory=0.8),
    SimulatedListener(name="tiring, 2 dB a block", curve=ASSUMED, tires_db=2.0),
)


def take_block(
    listener: SimulatedListener,
    placement: Placement,
    items: int,
    rng: np.random.Generator,
    choose: Callable[[Placement, Sequence[Trial]], StimulusLevel] = next_level,
) -> list[Trial]:
    """Return the trials of a block of so many items that count, taken by a simulated listener."""
    total = placement.warm_ups + items
    trials: list[Trial] = []
    for shift_db in listener.shifts_db(total, rng):
        level = choose(placement, trials)
        right = rng.random() < float(listener.curve.probability(level.snr_db - shift_db))
        trials.append(Trial(snr_db=level.snr_db, right=bool(right), warm_up=level.warm_up))
    return trials
