"""Levels of a recording at the sample rate of word banks, in dB of a full-scale square wave."""

import numpy as np
from numpy.typing import NDArray

from drill.core.arrays import resample
from drill.core.errors import UserError
from drill.radio.levels import P56_HANGOVER_S, speech_level

BANK_RATE_HZ = 24_000
"""Sample rate of all words in a bank."""
BANK_LEVEL_DB = -26.0
"""Active speech level (ITU-T P.56) of all words in a bank, as recommended by ITU-T P.830 (value
from memory)."""
LEVEL_FRAME_S = 0.005
_LOWEST_HZ = 75.0  # a transmitter passes nothing below this frequency, where most mains hum lies


def prepare_recording(samples: NDArray[np.float64], rate_hz: int) -> NDArray[np.float64]:
    """Return the samples, shape (n,), at BANK_RATE_HZ and without frequencies below 75 Hz."""
    from scipy.signal import butter, sosfiltfilt

    sound = resample(samples, rate_hz, BANK_RATE_HZ)
    # Padding at both ends makes it possible to filter even a recording of a few samples.
    padding = round(0.05 * BANK_RATE_HZ)
    high_pass = butter(6, _LOWEST_HZ, "highpass", fs=BANK_RATE_HZ, output="sos")
    filtered = sosfiltfilt(high_pass, np.pad(sound, padding))
    return np.asarray(filtered[padding : padding + len(sound)], dtype=np.float64)


def frame_levels_db(samples: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the level in dB of each 5 ms of sound at BANK_RATE_HZ, shape (frames,).

    The last frame is padded with zeros if necessary.
    """
    hop = round(LEVEL_FRAME_S * BANK_RATE_HZ)
    frames = np.pad(samples, (0, -len(samples) % hop)).reshape(-1, hop)
    return np.asarray(10 * np.log10(np.mean(frames**2, axis=1) + 1e-20))


def word_level_db(samples: NDArray[np.floating]) -> float:
    """Return the active speech level in dB of a single word at BANK_RATE_HZ.

    A pause is appended before measuring. Without it, the hangover of P.56 would end with the
    samples, and the level would depend on how closely the word is cut.

    Raises: UserError if the sound is too short for a word.
    Source: ITU-T P.56 (12/2011), method B.
    """
    pause = np.zeros(round(2 * P56_HANGOVER_S * BANK_RATE_HZ))
    word = np.asarray(samples, dtype=np.float64)
    try:
        return speech_level(np.concatenate((word, pause)), BANK_RATE_HZ).active_db
    except ValueError:
        raise UserError("the recording has a click but no word; record the word again") from None
