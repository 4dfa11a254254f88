"""Speech processing in the transmitter: a compressor, and a clipper of the radio signal's envelope.

Both raise the mean power of the voice relative to its peaks. Their settings are common practice, no
source.
"""

import numpy as np

from drill.radio.filters import ComplexArray
from drill.radio.gain_control import GainControl, GainTiming
from drill.radio.levels import power_from_db

COMPRESSION_RATIO = 4.0
COMPRESSION_THRESHOLD_DB = -6.0
"""The compressor acts on envelope power above this level, relative to the active level."""
COMPRESSION_TIMING = GainTiming(hold_s=0.01, decay_db_per_s=200.0)
CLIPPING_DB = 0.0
"""Envelope power is clipped at this level, relative to the active level."""
ENVELOPE_OVER_POWER_DB = 3.0103
"""The envelope's square is twice the signal's power."""


def process_speech(signal: ComplexArray, processing: str, rate_hz: int) -> ComplexArray:
    """Return baseband with an active level of 0 dB, shape (n,), after speech processing.

    processing: "compressed" or "clipped". Clipping widens the band, so the sideband filter has to
    follow it.
    """
    if processing == "clipped":
        ceiling = np.float32(np.sqrt(2 * power_from_db(CLIPPING_DB)))
        return np.asarray(signal * (ceiling / np.maximum(ceiling, np.abs(signal))), np.complex64)
    threshold_db = COMPRESSION_THRESHOLD_DB + ENVELOPE_OVER_POWER_DB
    slope = 1 / COMPRESSION_RATIO - 1
    control = GainControl(
        lambda level_db: slope * np.maximum(0, level_db - threshold_db),
        COMPRESSION_TIMING,
        rate_hz,
    )
    return np.concatenate([control.process(signal), control.finish()])
