"""External radio noise at a place, and what it leaves of a receiver's own noise (ITU-R P.372).

Noise is described by its factor over k T0 b, at the terminals of a lossless antenna, in dB.
Man-made and galactic noise follow from category and frequency. Atmospheric noise (lightning near
and far) is a figure in dB that the user gives: the maps of the Recommendation, by season, hour and
place, are not reproduced here; without a figure it is left out.

Source: ITU-R P.372-17, constants as in version 14.3 of the reference software of ITU-R Study Group
3 (P372, Noise.c); deciles in time, not from place to place.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from drill.core.errors import UserError

# k = 1.380649e-23 J/K exactly (SI), T0 = 290 K: -203.975 dBW/Hz, which P.372 rounds to -204.
KT0_W_PER_HZ = 1.380649e-23 * 290
LOW_MHZ, HIGH_MHZ = 0.3, 30.0


@dataclass(frozen=True, kw_only=True, slots=True)
class Noise:
    """Noise figure in dB over k T0 b: median, and deciles above and below it, each 0 to 12 dB.

    Raises: UserError where a decile is out of range, or the median not from -50 to 200 dB.
    """

    median_db: float
    upper_db: float = 0.0
    lower_db: float = 0.0

    def __post_init__(self) -> None:
        """Refuse what the combination does not hold for."""
        require("a noise figure of", self.median_db, -50, 200, "dB")
        require("an upper decile of", self.upper_db, 0, 12, "dB")
        require("a lower decile of", self.lower_db, 0, 12, "dB")


# c and d of Fam = c - d lg(f/MHz), deciles above and below; quiet rural takes rural's deciles.
CATEGORIES = {
    "city": (76.8, 27.7, 11.0, 6.7),
    "residential": (72.5, 27.7, 10.6, 5.3),
    "rural": (67.2, 27.7, 9.2, 4.6),
    "quiet-rural": (53.6, 28.6, 9.2, 4.6),
}
GALACTIC = (52.0, 23.0, 2.0, 2.0)


def require(what: str, value: float, low: float, high: float, unit: str) -> None:
    """Raise UserError, naming value and range, where the value is not from low to high."""
    if not low <= value <= high:
        raise UserError(f"{what} {value:g} {unit} is out of range; give {low:g} to {high:g} {unit}")


def man_made(category: str, frequency_mhz: float) -> Noise:
    """Return man-made noise of a category (CATEGORIES) at 0.3 to 30 MHz.

    Raises: UserError where the category is unknown or the frequency out of range.
    Source: ITU-R P.372-17, section 6 (man-made noise).
    """
    if category not in CATEGORIES:
        raise UserError(f"no noise category {category!r}; there are: {', '.join(CATEGORIES)}")
    return _falling(CATEGORIES[category], frequency_mhz)


def galactic(frequency_mhz: float) -> Noise:
    """Return galactic noise at 0.3 to 30 MHz.

    Below the critical frequency of the ionosphere it does not reach the ground, so that at a quiet
    place the lowest bands come out up to some dB too noisy.
    Raises: UserError where the frequency is out of range.
    Source: ITU-R P.372-16, equation (13).
    """
    return _falling(GALACTIC, frequency_mhz)


def _falling(row: tuple[float, float, float, float], frequency_mhz: float) -> Noise:
    require("a frequency of", frequency_mhz, LOW_MHZ, HIGH_MHZ, "MHz")
    c, d, upper, lower = row
    return Noise(median_db=c - d * math.log10(frequency_mhz), upper_db=upper, lower_db=lower)


def external(category: str, frequency_mhz: float, atmospheric_db: float | None = None) -> Noise:
    """Return all noise at a place: man-made, galactic and, where given, atmospheric.

    The atmospheric figure is taken as that of the hour, without a spread.
    Raises: UserError as man_made, and where the figure is out of range.
    """
    parts = [man_made(category, frequency_mhz), galactic(frequency_mhz)]
    if atmospheric_db is not None:
        parts.append(Noise(median_db=atmospheric_db))
    return combine(parts)


def combine(parts: Sequence[Noise]) -> Noise:
    """Return the sum of independent noises, each log-normal in time, at least one.

    Upper deciles give one log-normal and lower ones another; the median is the lower of the two.
    Above deciles of 12 dB the Recommendation has another formula, so Noise refuses them.
    Source: ITU-R P.372-17, section 8. Which median and the 12 dB are from memory; the worked
    example of Study Group 3's software is met.
    """
    upper = _log_normal([(part.median_db, part.upper_db) for part in parts])
    lower = _log_normal([(part.median_db, part.lower_db) for part in parts])
    return Noise(median_db=min(upper[0], lower[0]), upper_db=upper[1], lower_db=lower[1])


def _log_normal(parts: Sequence[tuple[float, float]]) -> tuple[float, float]:
    """Return median and decile in dB of a sum of log-normals, by matching mean and variance."""
    neper = 10 / math.log(10)
    decile = 1.282  # of the normal distribution, in standard deviations, as rounded in P.372
    mean = variance = 0.0
    for median_db, decile_db in parts:
        square = (decile_db / decile / neper) ** 2
        alpha = math.exp(median_db / neper + square / 2)
        mean += alpha
        variance += alpha**2 * math.expm1(square)
    square = math.log1p(variance / mean**2)
    return neper * (math.log(mean) - square / 2), decile * neper * math.sqrt(square)


def noise_dbw(figure_db: float, bandwidth_hz: float) -> float:
    """Return noise power in dBW for a noise figure in dB over k T0 b and a bandwidth above 0 Hz.

    Source: ITU-R P.372-17, section 1.2: Pn = Fa + 10 lg b - 204, with the exact k T0.
    """
    return figure_db + 10 * math.log10(KT0_W_PER_HZ * bandwidth_hz)


def system_db(
    external_db: float, *, antenna_loss_db: float, line_loss_db: float, receiver_db: float
) -> float:
    """Return the noise figure of a whole station in dB, referred to a lossless antenna.

    f = fa - 1 + fc ft fr, with the losses of antenna and line and the receiver at T0. What is lost
    behind the antenna takes signal and external noise alike, so that it costs little as long as fa
    is the larger term.
    Raises: UserError where a loss or the receiver's figure is not 0 to 60 dB.
    Source: ITU-R P.372-17, section 1 (noise factor), with the antenna and the line at T0.
    """
    require("an antenna loss of", antenna_loss_db, 0, 60, "dB")
    require("a line loss of", line_loss_db, 0, 60, "dB")
    require("a receiver noise figure of", receiver_db, 0, 60, "dB")
    own = 10 ** ((antenna_loss_db + line_loss_db + receiver_db) / 10)
    return 10 * math.log10(10 ** (external_db / 10) - 1 + own)
