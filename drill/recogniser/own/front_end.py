"""The front end: log mel spectra of 8 kHz sound, the input of the network.

Frames of 25 ms every 10 ms, 40 triangular bands from 200 to 3000 Hz on the mel scale of
S. Stevens and J. Volkmann as O'Shaughnessy gives it, mel = 2595 lg(1 + f / 700 Hz). The mean of
each band over the clip is subtracted, which removes any steady filter or level.
"""

import numpy as np
from numpy.typing import NDArray

from drill.core.arrays import resample

RATE_HZ = 8_000
WINDOW = 200
HOP = 80
FFT_SIZE = 256
BANDS = 40
LOW_HZ, HIGH_HZ = 200.0, 3000.0
POWER_FLOOR = 1e-3
"""Added to the power of each band, with the mean square of the clip at 1."""
SCALE = 0.5
HANN = np.hanning(WINDOW + 1)[:-1]

Features = NDArray[np.float32]


def mel(frequency_hz: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return frequencies in mel."""
    return np.asarray(2595 * np.log10(1 + frequency_hz / 700))


def _hertz(mels: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.asarray(700 * (10 ** (mels / 2595) - 1))


def band_weights(warp: NDArray[np.float64] | float = 1.0) -> NDArray[np.float64]:
    """Return the weight of each FFT bin in each band, shape (FFT_SIZE // 2 + 1, BANDS).

    warp: factor on the bands' frequencies, 1 as the recogniser hears; training varies it, one for
    all or one for each of the BANDS + 2 edges.
    The columns sum to 1. A band narrower than a bin takes the bin nearest to its centre.
    """
    limits = mel(np.asarray([LOW_HZ, HIGH_HZ]))
    edges = _hertz(np.linspace(limits[0], limits[1], BANDS + 2)) * warp
    bins = np.arange(FFT_SIZE // 2 + 1)[:, None] * (RATE_HZ / FFT_SIZE)
    rising = (bins - edges[:-2]) / (edges[1:-1] - edges[:-2])
    falling = (edges[2:] - bins) / (edges[2:] - edges[1:-1])
    weights = np.maximum(np.minimum(rising, falling), 0)
    nearest = np.rint(np.clip(edges[1:-1], 0, RATE_HZ / 2 - 10) * FFT_SIZE / RATE_HZ).astype(int)
    for band in np.flatnonzero(weights.sum(0) < 0.5):
        weights[nearest[band], band] += 0.5
    return np.asarray(weights / weights.sum(0))


_WEIGHTS = band_weights()


def log_mel(samples: NDArray[np.floating], rate_hz: int) -> Features:
    """Return the features of a clip, shape (frames, BANDS); no frames if it is under 25 ms.

    samples: shape (n,), any rate from 6 kHz. Digital silence gives features of 0.
    """
    sound = np.asarray(resample(np.asarray(samples, np.float64), rate_hz, RATE_HZ))
    if len(sound) < WINDOW:
        return np.zeros((0, BANDS), np.float32)
    sound = sound / max(1e-9, float(np.sqrt(np.mean(sound**2))))
    frames = np.lib.stride_tricks.sliding_window_view(sound, WINDOW)[::HOP] * HANN
    power = np.abs(np.fft.rfft(frames, FFT_SIZE)) ** 2
    level = np.log(power @ _WEIGHTS + POWER_FLOOR)
    return np.asarray((level - level.mean(0)) * SCALE, np.float32)
