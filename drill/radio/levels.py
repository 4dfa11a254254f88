"""Levels and SNR: the one home of these definitions.

Conventions
-----------
* Sound is float with full scale 1. A level in dB is 10 lg of the mean square, so that a full-scale
  square wave is 0 dB and a full-scale sine is -3.01 dB (dBov of ITU-T G.100.1).
* Speech level is the active speech level of ITU-T P.56 method B: the mean power of the speech while
  it is on, pauses longer than 0.2 s left out.
* Noise is described by its density N0 in power per hertz, one-sided, of the real audio signal.
* SNR is the active speech level at the transmitter's output, band-limited, before fading, against
  the noise power in 3 kHz, N0 x 3000 Hz. Fading has unit mean power over the ensemble, so that the
  SNR is that of the mean signal; what one short item gets is above or below, as on the air.
* The trainee hears the noise through the receiver's filter: in 2.6 kHz it is 0.62 dB less than
  in 3 kHz.
* Speech processing raises the mean power at the same PEP. The SNR asked for is that of the voice
  without processing; what processing adds to it is measured and reported.

Sources: ITU-T P.56 (12/2011) method B; constants as in the ITU-T G.191 software tool library,
module sv-p56. Bandwidth of 3 kHz for speech SNR: ITU-R F.339-8, Table 1.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

REFERENCE_BANDWIDTH_HZ = 3000.0
SMOOTHING_S = 0.03
HANGOVER_S = 0.2
MARGIN_DB = 15.9
BLOCK_S = 0.002


@dataclass(frozen=True, kw_only=True, slots=True)
class SpeechLevel:
    """Active speech level in dB (full-scale square wave 0) and the share of time that is active."""

    active_db: float
    activity: float


def decibels(power: float) -> float:
    """Return 10 lg(power). Raises: ValueError where power is not above zero."""
    if not power > 0:
        raise ValueError(f"power {power} has no level in dB")
    return float(10 * np.log10(power))


def power_of(level_db: float) -> float:
    """Return the power of a level in dB."""
    return float(10 ** (level_db / 10))


def speech_level(samples: NDArray[np.inexact], rate_hz: int) -> SpeechLevel:
    """Return the active level of speech, shape (n,), by ITU-T P.56 method B.

    An analytic signal stands for its real part, whose mean square is half of its own and whose mean
    rectified value is 2/pi of its envelope, over a few cycles of the carrier.

    The envelope is made of means over about 2 ms, which is short beside its time constant of 30 ms.
    The threshold is solved for on a continuum, where the Recommendation has steps of 6 dB and
    interpolates; so the result moves with the gain to the last digit. Between two neighbouring
    values of the envelope the active time is constant, and the wanted threshold is the lowest at
    which level minus threshold is at most the margin. It has to be sought from the lowest up: above
    the loudest sample the time is nil and everything would pass.

    Raises: ValueError where the sound is silent or not finite.
    Source: ITU-T P.56 (12/2011), clause 8 (method B); MARGIN_DB and times from the same.
    """
    from scipy.ndimage import maximum_filter1d
    from scipy.signal import lfilter

    sound = np.asarray(samples)
    size = np.abs(sound)
    energy = float(np.dot(size, size))
    rectified = 1.0
    if np.iscomplexobj(sound):
        energy, rectified = energy / 2, 2 / np.pi
    if not np.isfinite(energy) or energy == 0:
        raise ValueError("there is no speech to measure: the sound is silent or not finite")
    step = max(1, round(rate_hz * BLOCK_S))
    blocks = np.pad(size, (0, -len(size) % step)).reshape(-1, step)
    means = blocks @ np.full(step, rectified / step)  # several times quicker than mean along rows
    rate = rate_hz / step
    decay = np.exp(-1 / (rate * SMOOTHING_S))
    envelope = lfilter([(1 - decay) ** 2], [1, -2 * decay, decay**2], means)
    reach = int(HANGOVER_S * rate + 0.5) + 1
    # maximum_filter1d is centred; this origin makes it look back over the hangover.
    held = maximum_filter1d(envelope, reach, origin=(reach - 1) // 2, mode="constant")
    held = np.sort(held[held > 0])
    active = step * np.arange(len(held), 0, -1)
    margin = 10 * np.log10(energy / active) - 20 * np.log10(held)
    passes = np.flatnonzero(margin <= MARGIN_DB)
    if not len(passes):  # a single click: no threshold lies 15.9 dB below its own level
        raise ValueError("there is no speech to measure: the sound has no steady part")
    count = min(int(active[passes[0]]), len(sound))
    return SpeechLevel(active_db=decibels(energy / count), activity=count / len(sound))


def noise_density(snr_db: float, active_db: float) -> float:
    """Return N0, power per hertz, that gives the SNR for speech of this active level."""
    return power_of(active_db - snr_db) / REFERENCE_BANDWIDTH_HZ
