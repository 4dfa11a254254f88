"""Band noise as it reaches the receiver, before its filter."""

import numpy as np

from drill.radio.passband import Analytic


def band_noise(count: int, rate_hz: int, density: float, rng: np.random.Generator) -> Analytic:
    """Return white complex Gaussian noise, shape (count,).

    density: N0, power per hertz of the real part after a filter that passes positive frequencies
    only. Half of the complex power of that filter's output goes to the real part, so that the
    complex power before it is 2 N0 rate.
    """
    scale = np.sqrt(density * rate_hz)
    return np.asarray(rng.standard_normal((count, 2)) @ np.array([scale, 1j * scale]))
