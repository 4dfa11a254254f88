"""The transmitter's final amplifier, which limits softly and so adds intermodulation.

The model is Rapp's: the output is x / (1 + |x|^(2p))^(1/(2p)) for an envelope x relative to the
amplifier's limit, without phase distortion. Every station uses it. At rated drive the third-order
products of two equal tones lie THIRD_ORDER_DB below the peak envelope power (PEP) of both tones;
overdrive adds to the rated drive. THIRD_ORDER_DB is common practice, no source: amateur
transmitters reach 25 to 35 dB below PEP.

Source of the model: C. Rapp, Effects of HPA-nonlinearity on a 4-DPSK/OFDM signal, 1991.
"""

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from drill.core.arrays import FloatArray

THIRD_ORDER_DB = -30.0
"""Third-order products of a two-tone test at rated drive, relative to PEP."""
SMOOTHNESS = 2
"""Parameter p of the model: between a soft and a hard limit. `amplifier_gain` is written for 2."""
MAX_DRIVE = 3.0
"""Search range for the rated drive, relative to the amplifier's limit."""
BISECTIONS = 40
TONE_SAMPLES = 1024


def amplifier_gain(power: NDArray[np.floating], drive: float) -> NDArray[np.floating]:
    """Return the gain at each sample, shape (n,), 1 for weak signals.

    power: square of the envelope, shape (n,), 1 at the signal's peak. drive: envelope of that peak
    relative to the amplifier's limit.
    """
    excess = power * power
    excess *= excess.dtype.type(drive ** (2 * SMOOTHNESS))
    excess += 1
    # The fourth root as two square roots is ten times faster than a power of -1/4.
    return np.asarray(1 / np.sqrt(np.sqrt(excess)))


def third_order_db(drive: float) -> float:
    """Return the third-order products of two equal tones relative to PEP, in dB."""
    envelope: FloatArray = np.cos(2 * np.pi * np.arange(TONE_SAMPLES) / TONE_SAMPLES)
    output = envelope * amplifier_gain(envelope**2, drive)
    amplitudes = np.abs(np.fft.rfft(output)) / TONE_SAMPLES
    return float(20 * np.log10(amplitudes[3] / np.max(np.abs(output))))


@lru_cache(maxsize=1)
def rated_drive() -> float:
    """Return the drive at which the third-order products are at THIRD_ORDER_DB."""
    low, high = 0.0, MAX_DRIVE
    for _ in range(BISECTIONS):
        middle = (low + high) / 2
        if third_order_db(middle) < THIRD_ORDER_DB:
            low = middle
        else:
            high = middle
    return (low + high) / 2


def amplifier_drive(overdrive_db: float) -> float:
    """Return the envelope's peak relative to the amplifier's limit, as a ratio."""
    return rated_drive() * float(10 ** (overdrive_db / 20))
