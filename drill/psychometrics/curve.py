"""The psychometric function: proportion of items that are right as a function of SNR.

    p(x) = guess_rate + (1 - guess_rate - lapse) F(x),   F(x) = 1 / (1 + exp(-b (x - a)))

It is parametrised by two quantities that can be read off the curve: x50, where p itself is 0.5, and
the slope of p there. With F50 = (0.5 - guess_rate) / (1 - guess_rate - lapse),

    b = slope / ((1 - guess_rate - lapse) F50 (1 - F50)),   a = x50 - ln(F50 / (1 - F50)) / b.

Some programs define the threshold on F instead of p. With 2 % lapses and a slope of 15 % per dB,
F reaches 80 % at 0.17 dB below x80.
"""

import math
from dataclasses import dataclass

import numpy as np

from drill.core.arrays import FloatArray
from drill.core.errors import UserError

FloatOrArray = float | FloatArray
# Larger arguments of exp would overflow; the logistic is 0 or 1 there to double precision.
_MAX_EXPONENT = 60


def logistic_parameters(
    x50_db: FloatOrArray, slope_per_db: FloatOrArray, lapse: FloatOrArray, guess_rate: float
) -> tuple[FloatArray, FloatArray]:
    """Return the midpoint a in dB and the rate b per dB of F; the arguments broadcast."""
    span = 1 - guess_rate - np.asarray(lapse)
    f50 = (0.5 - guess_rate) / span
    b = slope_per_db / (span * f50 * (1 - f50))
    return np.asarray(x50_db - np.log(f50 / (1 - f50)) / b), np.asarray(b)


def proportion_correct_at(
    snr_db: FloatOrArray,
    x50_db: FloatOrArray,
    slope_per_db: FloatOrArray,
    lapse: FloatOrArray,
    guess_rate: float,
) -> FloatArray:
    """Return the proportion correct at an SNR in dB; the arguments broadcast."""
    a, b = logistic_parameters(x50_db, slope_per_db, lapse, guess_rate)
    exponent = np.clip(b * (np.asarray(snr_db) - a), -_MAX_EXPONENT, _MAX_EXPONENT)
    span = 1 - guess_rate - np.asarray(lapse)
    return np.asarray(guess_rate + span / (1 + np.exp(-exponent)))


def snr_at(
    proportion: float,
    x50_db: FloatOrArray,
    slope_per_db: FloatOrArray,
    lapse: FloatOrArray,
    guess_rate: float,
) -> FloatArray:
    """Return the SNR in dB at which a proportion is correct, NaN if the curve never reaches it.

    The arguments broadcast.
    """
    a, b = logistic_parameters(x50_db, slope_per_db, lapse, guess_rate)
    f = (proportion - guess_rate) / (1 - guess_rate - np.asarray(lapse))
    reached = (f > 0) & (f < 1)
    inside = np.where(reached, f, 0.5)
    return np.where(reached, a + np.log(inside / (1 - inside)) / b, np.nan)


@dataclass(frozen=True, kw_only=True, slots=True)
class Curve:
    """One psychometric function.

    x50_db: SNR in dB at which half of the items are right.
    slope_per_db: slope of the proportion correct at x50 per dB, above 0.
    lapse: proportion missed at any SNR, 0 to below 0.5.
    guess_rate: proportion correct without any signal, 0 to below 0.5.

    Raises: UserError if a value is out of range.
    """

    x50_db: float
    slope_per_db: float
    lapse: float = 0.0
    guess_rate: float = 0.0

    def __post_init__(self) -> None:
        """Check that all parameters are within range."""
        if not math.isfinite(self.x50_db):
            raise UserError(
                f"x50 {self.x50_db} dB is out of range; give a finite number",
                field="x50_db",
                kind="out_of_range",
            )
        if not 0 < self.slope_per_db < math.inf:
            raise UserError(
                f"slope {self.slope_per_db} per dB is out of range; give a finite number above 0",
                field="slope_per_db",
                kind="out_of_range",
            )
        for name in ("lapse", "guess_rate"):
            value = getattr(self, name)
            if not 0 <= value < 0.5:
                raise UserError(
                    f"{name.replace('_', ' ')} {value} is out of range; give 0 to below 0.5",
                    field=name,
                    kind="out_of_range",
                )

    def proportion_correct(self, snr_db: FloatOrArray) -> FloatArray:
        """Return the proportion correct at SNR in dB, in the shape of the argument."""
        return proportion_correct_at(
            snr_db, self.x50_db, self.slope_per_db, self.lapse, self.guess_rate
        )
