"""Measures the noise of the room before recording: background level and mains hum."""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from drill.core.errors import UserError
from drill.radio.levels import decibels
from drill.voices.wordbank.signal_levels import frame_levels_db, prepare_recording

# Limits: common practice, no source.
_NOISY_DB = -45.0
_QUIET_DB = -55.0
_SILENT_DB = -90.0
"""No room with a working microphone is this quiet; rounding to 16 bits alone is -101 dB."""
_MAINS_HZ = (50.0, 60.0)
_HARMONICS = 6
_LEAST_HUM_POWER = 1e-7
_LEAST_HUM_PROMINENCE = 10.0


class NoiseRating(StrEnum):
    """Whether a room is suitable for recording."""

    SILENT = "silent"
    QUIET = "quiet"
    ACCEPTABLE = "acceptable"
    NOISY = "noisy"


@dataclass(frozen=True, kw_only=True, slots=True)
class BackgroundNoise:
    """The noise of a room without speech.

    level_db: level above 75 Hz, re full scale. hum_hz: mains frequency, 0 if there is no hum.
    hum_db: level of the hum, minus infinity if there is none.
    """

    level_db: float
    hum_hz: float
    hum_db: float

    @property
    def rating(self) -> NoiseRating:
        """Return whether the room is suitable for recording."""
        if self.level_db < _SILENT_DB:
            return NoiseRating.SILENT
        if self.level_db > _NOISY_DB:
            return NoiseRating.NOISY
        return NoiseRating.ACCEPTABLE if self.level_db > _QUIET_DB else NoiseRating.QUIET


def measure_background(samples: NDArray[np.floating], rate_hz: int) -> BackgroundNoise:
    """Return the background noise in a recording without speech.

    samples: shape (n,), full scale 1, half a second or more.

    Hum is the power at the first six harmonics of 50 or 60 Hz, if it is well above the spectrum
    between them.

    Raises: UserError if the recording is too short or not finite.
    """
    sound = np.asarray(samples, dtype=np.float64)
    if len(sound) < rate_hz / 2 or not np.isfinite(sound).all():
        raise UserError("the background noise needs a recording of half a second or more")
    level_db = float(np.median(frame_levels_db(prepare_recording(sound, rate_hz))))
    hum_hz, hum_power = _find_hum(sound, rate_hz)
    return BackgroundNoise(
        level_db=level_db,
        hum_hz=hum_hz,
        hum_db=decibels(hum_power) if hum_hz else -np.inf,
    )


def _find_hum(sound: NDArray[np.float64], rate_hz: int) -> tuple[float, float]:
    """Return mains frequency in Hz and power of the hum in a recording; 0 Hz if there is none."""
    window = np.hanning(len(sound))
    power = np.abs(np.fft.rfft(sound * window)) ** 2 / (np.sum(window**2) * len(sound) / 2)
    frequency_hz = np.fft.rfftfreq(len(sound), 1 / rate_hz)
    hums: list[tuple[float, float, float]] = []
    for mains_hz in _MAINS_HZ:
        harmonics_hz = mains_hz * np.arange(1, _HARMONICS + 1)
        lines = np.abs(frequency_hz[:, None] - harmonics_hz).min(axis=1) <= 2.5
        top_hz = (_HARMONICS + 0.5) * mains_hz
        between = (frequency_hz > mains_hz / 2) & (frequency_hz < top_hz) & ~lines
        hum_power = float(power[lines].sum() - lines.sum() * np.median(power[between]))
        prominence = float(power[lines].mean() / max(power[between].mean(), 1e-20))
        hums.append((hum_power, mains_hz, prominence))
    hum_power, mains_hz, prominence = max(hums, key=lambda hum: hum[0])
    is_hum = hum_power > _LEAST_HUM_POWER and prominence > _LEAST_HUM_PROMINENCE
    return (mains_hz if is_hum else 0.0), hum_power
