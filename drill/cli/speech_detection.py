"""Limits by which the terminal's recorders tell speech from background noise.

All values: common practice, no source.
"""

import numpy as np

SPEECH_ABOVE_BACKGROUND_DB = 10.0
"""A block this far above the background, or louder, is speech."""
LEAST_SPEECH_DB = -55.0
"""Blocks below this level, re full scale, are never speech."""
KEY_NOISE_S = 0.3
"""Sound this soon after the start may be the noise of the key that started the recording."""


def amplitude_db(amplitude: float) -> float:
    """Return an amplitude, 0 to 1, in dB re full scale; never less than -120 dB."""
    return float(20 * np.log10(max(amplitude, 1e-6)))
