"""Conversion of S-meter readings to received power and to the SNR of a path."""

import re

from drill.core.errors import UserError
from drill.linkbudget.budget import (
    LinkEnd,
    noise_figure_db,
    without_losses,
)
from drill.linkbudget.noise_levels import noise_power_dbw
from drill.radio.levels import RATED_PEP_DB, REFERENCE_BANDWIDTH_HZ

S9_DBM = -73.0
S_UNIT_DB = 6.0


def s_reading_dbm(reading: str) -> float:
    """Return the power in dBm of an S reading: "0" to "9" (also "S7" or "6.5"), or "9+10".

    Raises: UserError if the text is not an S reading, or is more than 60 dB over S9.
    Source: IARU Region 1 Technical Recommendation R.1, below 30 MHz: S9 -73 dBm, S unit 6 dB.
    """
    match = re.fullmatch(r"[sS]?(?:([0-8](?:\.\d+)?|9)|9\+([1-5]?\d|60))", reading.strip())
    if not match:
        raise UserError(
            f"{reading!r} is not an S reading; give 0 to 9, or 9+1 to 9+60 for dB over S9",
            field="reading",
            kind="unknown",
        )
    return S9_DBM + S_UNIT_DB * (float(match[1] or 9) - 9) + float(match[2] or 0)


def path_snr_from_s(reading: str, there: LinkEnd, frequency_mhz: float) -> float:
    """Return path_snr_db of a path where 100 W PEP give this S reading at the far end.

    The reading is taken to be PEP, because R.1 specifies a quasi-peak detector, and to be measured
    at the terminals of the lossless reference antenna.

    Raises: UserError as s_reading_dbm and noise_figure_db.
    """
    figure_db = noise_figure_db(without_losses(there), frequency_mhz)
    noise_dbm = noise_power_dbw(figure_db, REFERENCE_BANDWIDTH_HZ) + 30
    return s_reading_dbm(reading) - RATED_PEP_DB - noise_dbm
