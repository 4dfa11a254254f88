"""Losses of shortened antennas and of feed lines."""

import math

from drill.core.errors import UserError
from drill.core.validation import within
from drill.linkbudget.noise_levels import MAX_MHZ, MIN_MHZ

LIGHT_M_MHZ = 299.792458
"""Wavelength in metres times frequency in MHz."""


def radiation_resistance_ohm(
    length_m: float, frequency_mhz: float, *, dipole: bool = False
) -> float:
    """Return the radiation resistance of a short vertical over ground, or of a short dipole.

    length_m: height of the vertical, or length of the dipole from end to end. The current is
    assumed to fall linearly towards the ends: 40 pi^2 (h / lambda)^2 and 20 pi^2 (l / lambda)^2.

    Raises: UserError if the vertical is longer than an eighth, the dipole than a quarter of the
    wavelength, or the frequency is not 0.3 to 30 MHz.
    Source: Balanis, Antenna Theory, small dipole and the approximation Rin = 20 G^2, G = pi l /
    lambda below pi / 4, with half of it for a monopole (from memory).
    """
    within("frequency_mhz", frequency_mhz, MIN_MHZ, MAX_MHZ, "MHz", label="frequency")
    wavelength_m = LIGHT_M_MHZ / frequency_mhz
    longest_m = wavelength_m / (4 if dipole else 8)
    if not 0 < length_m <= longest_m:
        raise UserError(
            f"an antenna of {length_m:g} m is out of range at {frequency_mhz:g} MHz; give more "
            f"than 0 and at most {longest_m:.2f} m, or the loss of a longer antenna in dB",
            field="length_m",
            kind="out_of_range",
        )
    return (20 if dipole else 40) * (math.pi * length_m / wavelength_m) ** 2


def shortening_loss_db(radiation_ohm: float, loss_ohm: float) -> float:
    """Return the loss of a short antenna, 10 lg((Rr + Rl) / Rr) dB, for Rr above 0 ohm.

    Raises: UserError if the loss resistance is not 0 to 1000 ohm.
    """
    within("loss_ohm", loss_ohm, 0, 1000, "ohm", label="loss resistance")
    return 10 * math.log10((radiation_ohm + loss_ohm) / radiation_ohm)


def feed_line_loss_db(length_m: float, db_per_100_m: float) -> float:
    """Return the loss of a matched feed line in dB.

    Raises: UserError if the length is not 0 to 1000 m, or the loss per 100 m not 0 to 100 dB.
    """
    within("length_m", length_m, 0, 1000, "m", label="length of the feed line")
    within("db_per_100_m", db_per_100_m, 0, 100, "dB", label="loss of 100 m of feed line")
    return length_m * db_per_100_m / 100
