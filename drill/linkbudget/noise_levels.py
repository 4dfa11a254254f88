"""External radio noise by ITU-R P.372, and the noise figure of a whole station.

Noise is expressed as a figure Fa in dB above k T0 b at the terminals of a lossless antenna.
Man-made and galactic noise follow from the noise category and the frequency. Atmospheric noise
(from lightning near and far) is a figure that the user supplies, and is left out if the user gives
none: the Recommendation's maps by season, time of day and place are not reproduced here.

Source: ITU-R P.372-17, constants as in version 14.3 of the reference software of ITU-R Study Group
3 (P372, Noise.c). Deciles describe the variation over time, not between places.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from drill.core.validation import one_of, within

# k = 1.380649e-23 J/K exactly (SI), T0 = 290 K: -203.975 dBW/Hz, which P.372 rounds to -204.
KT0_W_PER_HZ = 1.380649e-23 * 290
MIN_MHZ, MAX_MHZ = 0.3, 30.0


@dataclass(frozen=True, kw_only=True, slots=True)
class ExternalNoise:
    """A noise figure in dB above k T0 b: its median, and its deciles above and below the median.

    median_db: -50 to 200. upper_db, lower_db: 0 to 12, the range of the formula in combine_noise.

    Raises: UserError if a value is out of range.
    """

    median_db: float
    upper_db: float = 0.0
    lower_db: float = 0.0

    def __post_init__(self) -> None:
        """Check the ranges."""
        within("median_db", self.median_db, -50, 200, "dB", label="noise figure")
        within("upper_db", self.upper_db, 0, 12, "dB", label="upper decile")
        within("lower_db", self.lower_db, 0, 12, "dB", label="lower decile")


NOISE_CATEGORIES = {
    "city": (76.8, 27.7, 11.0, 6.7),
    "residential": (72.5, 27.7, 10.6, 5.3),
    "rural": (67.2, 27.7, 9.2, 4.6),
    "quiet-rural": (53.6, 28.6, 9.2, 4.6),
}
"""c and d of Fam = c - d lg(f/MHz), and the deciles above and below the median in dB.

P.372 gives no deciles for quiet rural places; the values for rural places are used.
"""
GALACTIC = (52.0, 23.0, 2.0, 2.0)


def man_made_noise(category: str, frequency_mhz: float) -> ExternalNoise:
    """Return man-made noise of a category (a key of NOISE_CATEGORIES) at 0.3 to 30 MHz.

    Raises: UserError if the category is unknown or the frequency is out of range.
    Source: ITU-R P.372-17, section 6 (man-made noise).
    """
    one_of("category", category, NOISE_CATEGORIES, label="noise category")
    return _noise_at(NOISE_CATEGORIES[category], frequency_mhz)


def galactic_noise(frequency_mhz: float) -> ExternalNoise:
    """Return galactic noise at 0.3 to 30 MHz.

    Below the critical frequency of the ionosphere it does not reach the ground, so the result is
    several dB too high for a quiet place on the lowest bands.

    Raises: UserError if the frequency is out of range.
    Source: ITU-R P.372-16, equation (13).
    """
    return _noise_at(GALACTIC, frequency_mhz)


def _noise_at(constants: tuple[float, float, float, float], frequency_mhz: float) -> ExternalNoise:
    within("frequency_mhz", frequency_mhz, MIN_MHZ, MAX_MHZ, "MHz", label="frequency")
    c, d, upper_db, lower_db = constants
    median_db = c - d * math.log10(frequency_mhz)
    return ExternalNoise(median_db=median_db, upper_db=upper_db, lower_db=lower_db)


def external_noise(
    category: str, frequency_mhz: float, atmospheric_db: float | None = None
) -> ExternalNoise:
    """Return the sum of man-made, galactic and (if given) atmospheric noise at a place.

    atmospheric_db: noise figure at the time in question, -50 to 200; it is taken as constant.

    Raises: UserError as man_made_noise, and if atmospheric_db is out of range.
    """
    sources = [man_made_noise(category, frequency_mhz), galactic_noise(frequency_mhz)]
    if atmospheric_db is not None:
        sources.append(ExternalNoise(median_db=atmospheric_db))
    return combine_noise(sources)


def combine_noise(sources: Sequence[ExternalNoise]) -> ExternalNoise:
    """Return the sum of at least one independent noise, each log-normal in time.

    The upper deciles give one log-normal and the lower deciles another; the median is the lower of
    the two medians. For deciles above 12 dB the Recommendation has a different formula, so
    ExternalNoise does not allow them.

    Source: ITU-R P.372-17, section 8. The choice of the median and the limit of 12 dB are values
    from memory; the result agrees with the worked example of Study Group 3's software.
    """
    upper = _sum_log_normals([(source.median_db, source.upper_db) for source in sources])
    lower = _sum_log_normals([(source.median_db, source.lower_db) for source in sources])
    return ExternalNoise(median_db=min(upper[0], lower[0]), upper_db=upper[1], lower_db=lower[1])


def _sum_log_normals(parts: Sequence[tuple[float, float]]) -> tuple[float, float]:
    """Return median and decile in dB of a sum of log-normals, by matching mean and variance."""
    db_per_neper = 10 / math.log(10)
    decile = 1.282  # of the normal distribution, in standard deviations, as rounded in P.372
    mean = variance = 0.0
    for median_db, decile_db in parts:
        sigma_squared = (decile_db / decile / db_per_neper) ** 2
        part_mean = math.exp(median_db / db_per_neper + sigma_squared / 2)
        mean += part_mean
        variance += part_mean**2 * math.expm1(sigma_squared)
    sigma_squared = math.log1p(variance / mean**2)
    median_db = db_per_neper * (math.log(mean) - sigma_squared / 2)
    return median_db, decile * db_per_neper * math.sqrt(sigma_squared)


def noise_power_dbw(figure_db: float, bandwidth_hz: float) -> float:
    """Return the noise power in dBW of a noise figure above k T0 b, in a bandwidth above 0 Hz.

    Source: ITU-R P.372-17, section 1.2: Pn = Fa + 10 lg b - 204, with the exact k T0.
    """
    return figure_db + 10 * math.log10(KT0_W_PER_HZ * bandwidth_hz)


def system_noise_figure_db(
    external_db: float, *, antenna_loss_db: float, line_loss_db: float, receiver_db: float
) -> float:
    """Return the noise figure of a whole station in dB, referred to a lossless antenna.

    It is f = fa - 1 + fc ft fr as factors, with antenna, line and receiver at T0. Losses attenuate
    signal and external noise alike, so they cost little as long as fa is the largest term.

    Raises: UserError if a loss or the receiver's noise figure is not 0 to 60 dB.
    Source: ITU-R P.372-17, section 1 (noise factor), with antenna and line at T0.
    """
    within("antenna_loss_db", antenna_loss_db, 0, 60, "dB", label="antenna loss")
    within("line_loss_db", line_loss_db, 0, 60, "dB", label="loss of the feed line")
    within("receiver_db", receiver_db, 0, 60, "dB", label="noise figure of the receiver")
    own = 10 ** ((antenna_loss_db + line_loss_db + receiver_db) / 10)
    return 10 * math.log10(10 ** (external_db / 10) - 1 + own)
