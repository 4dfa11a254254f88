"""The psychometric curve: share of items copied right against SNR.

    share(x) = chance + (1 - chance - lapse) F(x),   F(x) = 1 / (1 + exp(-b (x - a)))

is written in what can be read off it: x50, where the share itself is one half, and the slope of the
share there. With F50 = (0.5 - chance) / (1 - chance - lapse),

    b = slope / ((1 - chance - lapse) F50 (1 - F50)),   a = x50 - ln(F50 / (1 - F50)) / b.

Some programs call 50 % of F the threshold; with 2 % lapses and 15 % a dB, 80 % of F lies 0.17 dB
below x80.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from drill.core.errors import UserError

Floats = NDArray[np.float64]
Real = float | Floats


def core(x50_db: Real, slope_per_db: Real, lapse: Real, guess_rate: float) -> tuple[Floats, Floats]:
    """Return a in dB and b per dB of the logistic inside the curve; arguments broadcast."""
    span = 1 - guess_rate - np.asarray(lapse)
    half = (0.5 - guess_rate) / span
    b = slope_per_db / (span * half * (1 - half))
    return np.asarray(x50_db - np.log(half / (1 - half)) / b), np.asarray(b)


def share_at(
    snr_db: Real, x50_db: Real, slope_per_db: Real, lapse: Real, guess_rate: float
) -> Floats:
    """Return the share copied right at an SNR; arguments broadcast."""
    a, b = core(x50_db, slope_per_db, lapse, guess_rate)
    depth = np.clip(b * (np.asarray(snr_db) - a), -60, 60)
    return np.asarray(guess_rate + (1 - guess_rate - np.asarray(lapse)) / (1 + np.exp(-depth)))


def snr_at(q: float, x50_db: Real, slope_per_db: Real, lapse: Real, guess_rate: float) -> Floats:
    """Return the SNR in dB at which the share is q, nan where q is not reached; broadcasts."""
    a, b = core(x50_db, slope_per_db, lapse, guess_rate)
    inner = (q - guess_rate) / (1 - guess_rate - np.asarray(lapse))
    reached = (inner > 0) & (inner < 1)
    inside = np.where(reached, inner, 0.5)
    return np.where(reached, a + np.log(inside / (1 - inside)) / b, np.nan)


@dataclass(frozen=True, kw_only=True, slots=True)
class Curve:
    """One curve.

    x50_db: SNR where the share is one half. slope_per_db: slope of the share there, above 0.
    lapse: share missed at any SNR, 0 to below 0.5. guess_rate: share right with no signal at all, 0 to
    below 0.5.

    Raises: UserError where a value is outside its range.
    """

    x50_db: float
    slope_per_db: float
    lapse: float = 0.0
    guess_rate: float = 0.0

    def __post_init__(self) -> None:
        """Refuse a value outside its range."""
        if not math.isfinite(self.x50_db):
            raise UserError(f"x50 is {self.x50_db}; it must be a number of dB")
        if not 0 < self.slope_per_db < math.inf:
            raise UserError(f"slope is {self.slope_per_db}; it must be above 0 per dB")
        for name, value in (("lapse", self.lapse), ("chance", self.guess_rate)):
            if not 0 <= value < 0.5:
                raise UserError(f"{name} is {value}; allowed: 0 to below 0.5")

    def probability(self, snr_db: Real) -> Floats:
        """Return the share copied right at SNR in dB, of the argument's shape."""
        return share_at(snr_db, self.x50_db, self.slope_per_db, self.lapse, self.guess_rate)

    def at(self, q: float) -> float | None:
        """Return the SNR in dB at which the share is q; None where the curve does not reach q."""
        snr_db = float(snr_at(q, self.x50_db, self.slope_per_db, self.lapse, self.guess_rate))
        return None if math.isnan(snr_db) else snr_db

    def information(self, snr_db: Real) -> Floats:
        """Return what one item tells of x50, in 1/dB^2, the slope being known.

        Fisher information of a Bernoulli trial, share'^2 / (share (1 - share)); n items at one SNR
        can give an SD no less than 1 / sqrt(n information).
        """
        a, b = core(self.x50_db, self.slope_per_db, self.lapse, self.guess_rate)
        inner = 1 / (1 + np.exp(-np.clip(b * (np.asarray(snr_db) - a), -60, 60)))
        slope = (1 - self.guess_rate - self.lapse) * b * inner * (1 - inner)
        share = self.probability(snr_db)
        return np.asarray(slope**2 / np.maximum(share * (1 - share), 1e-300))
