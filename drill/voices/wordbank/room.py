"""The room before the words: how loud it is without speech, and whether the mains hum in it."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from drill.core.errors import UserError
from drill.radio.levels import decibels
from drill.voices.wordbank.cut import fitted, levels

# Common practice, no source.
NOISY_DB = -45.0
QUIET_DB = -55.0


@dataclass(frozen=True, kw_only=True, slots=True)
class Background:
    """A room without speech. level_db: above LOWEST_HZ. hum_hz: mains, 0 where none is heard."""

    level_db: float
    hum_hz: float
    hum_db: float

    @property
    def sentence(self) -> str:
        """Return what to make of it, in a line."""
        if self.level_db > NOISY_DB:
            verdict = "too noisy: close the window, switch off fans, come closer to the microphone"
        elif self.level_db > QUIET_DB:
            verdict = "it will do; less would be better"
        else:
            verdict = "quiet enough"
        hum = f" Hum of {self.hum_hz:.0f} Hz mains, {self.hum_db:.0f} dB." if self.hum_hz else ""
        return f"Background {self.level_db:.0f} dB: {verdict}.{hum}"


def background(samples: NDArray[np.floating], rate_hz: int) -> Background:
    """Return what is heard in a second or more without speech.

    Hum is the power at six multiples of 50 or 60 Hz, where it is well above what lies between them.
    Raises: UserError where the sound is shorter than half a second or not finite.
    """
    sound = np.asarray(samples, dtype=np.float64)
    if len(sound) < rate_hz / 2 or not np.isfinite(sound).all():
        raise UserError("the background needs half a second or more of sound")
    level_db = float(np.median(levels(fitted(sound, rate_hz))))
    window = np.hanning(len(sound))
    power = np.abs(np.fft.rfft(sound * window)) ** 2 / (np.sum(window**2) * len(sound) / 2)
    hertz = np.fft.rfftfreq(len(sound), 1 / rate_hz)
    hums = {}
    for mains in (50.0, 60.0):
        lines = np.abs(hertz[:, None] - mains * np.arange(1, 7)).min(axis=1) <= 2.5
        between = (hertz > mains / 2) & (hertz < 6.5 * mains) & ~lines
        above = power[lines].sum() - lines.sum() * np.median(power[between])
        hums[mains] = (above, float(power[lines].mean() / max(power[between].mean(), 1e-20)))
    mains = max(hums, key=lambda each: hums[each][0])
    hum, prominence = hums[mains]
    heard = hum > 1e-7 and prominence > 10
    return Background(
        level_db=level_db,
        hum_hz=mains if heard else 0.0,
        hum_db=decibels(hum) if heard else -np.inf,
    )
