"""Design of the low-pass prototype from which the block filters of the channel are made.

The design takes a few lines, while importing scipy.signal would take longer than everything else
before the first sound. The tests compare it with scipy.signal.kaiserord and firwin.

Source: A. Oppenheim, R. Schafer, Discrete-Time Signal Processing, section on the Kaiser window.
"""

import numpy as np

from drill.core.arrays import FloatArray


def kaiser_low_pass(
    cutoff_hz: float, transition_hz: float, rate_hz: int, *, stop_band_db: float
) -> FloatArray:
    """Return the taps of a linear-phase low-pass filter, shape (n,) with n odd; they sum to 1.

    cutoff_hz: frequency at which the amplitude is one half. transition_hz: width from passband to
    stop band. stop_band_db: attenuation of the stop band, above 50 dB.

    An odd number of taps delays the signal by a whole number of samples.
    """
    width = 2 * np.pi * transition_hz / rate_hz
    count = int(np.ceil((stop_band_db - 7.95) / (2.285 * width) + 1)) | 1
    beta = 0.1102 * (stop_band_db - 8.7)
    middle = (count - 1) / 2
    index = np.arange(count) - middle
    window = np.i0(beta * np.sqrt(1 - (index / middle) ** 2)) / np.i0(beta)
    cutoff = 2 * cutoff_hz / rate_hz
    taps = cutoff * np.sinc(cutoff * index) * window
    return np.asarray(taps / np.sum(taps), np.float64)
