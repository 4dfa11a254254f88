"""The far station's transmitter: a voice becomes a single-sideband signal."""

import numpy as np

from drill.items import Clip
from drill.radio import RADIO_RATE_HZ
from drill.radio.levels import speech_level
from drill.radio.passband import Analytic, Passband, limit


def transmit(clip: Clip, band: Passband) -> Analytic:
    """Return the emission as an analytic signal at RADIO_RATE_HZ, its active level 0 dB.

    The real part is what a perfect receiver would hear. The level is measured by ITU-T P.56 after
    band limiting, since that is the speech that competes with the noise.

    Raises: ValueError where the clip holds no speech.
    """
    from scipy.signal import resample_poly

    common = np.gcd(clip.rate_hz, RADIO_RATE_HZ)
    sound = resample_poly(
        clip.samples.astype(np.float64), RADIO_RATE_HZ // common, clip.rate_hz // common
    )
    emission = 2 * limit(sound, band, RADIO_RATE_HZ)
    level = speech_level(emission.real, RADIO_RATE_HZ)
    return np.asarray(emission * 10 ** (-level.active_db / 20))
