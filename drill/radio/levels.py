"""Definitions of level and SNR for the whole project.

Conventions
-----------
* Audio is floating point with full scale 1. A level in dB is 10 lg of the mean square: a full-scale
  square wave has 0 dB, a full-scale sine -3.01 dB (dBov of ITU-T G.100.1).
* Speech level is the active speech level of ITU-T P.56 method B: the mean power of the speech while
  it is active; pauses longer than 0.2 s do not count.
* Noise is described by its density N0, the one-sided power per hertz of the real audio signal.
* SNR is the active speech level at the transmitter's output (band-limited, before fading) relative
  to the noise power in 3 kHz, N0 x 3000 Hz. Fading has unit mean power over the ensemble, so this
  is the SNR of the mean signal; the SNR in one short item is higher or lower, as on the air.
* The trainee hears the noise through the receiver's filter: in 2.6 kHz it is 0.62 dB weaker than in
  3 kHz.
* Speech processing raises the mean power at the same peak envelope power (PEP). The requested SNR
  is that of the voice without processing; the gain from processing is measured and reported.
* A neighbour's SNR is that of its own active speech level as transmitted, whatever its processing.

Sources: ITU-T P.56 (12/2011) method B; constants as in the ITU-T G.191 software tool library,
module sv-p56. Bandwidth of 3 kHz for speech SNR: ITU-R F.339-8, Table 1. RATED_PEP_DB: ITU-R
SM.326-7 gives a mean power 10 dB below PEP for smoothly read text (value from memory).
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from drill.core.arrays import FloatArray, sliding_maximum

REFERENCE_BANDWIDTH_HZ = 3000.0
P56_TIME_CONSTANT_S = 0.03
P56_HANGOVER_S = 0.2
P56_MARGIN_DB = 15.9
ENVELOPE_BLOCK_S = 0.002
AVERAGE_BLOCK = 1000
FOLLOWING_SILENCE_S = 0.5
"""Longer than the envelope's decay by P56_MARGIN_DB and the hangover together."""
RATED_PEP_DB = 10.0
"""PEP relative to the active speech level of a voice without processing, after the ALC."""


@dataclass(frozen=True, kw_only=True, slots=True)
class SpeechLevel:
    """Active speech level in dB (0 dB: full-scale square wave), and share of active time."""

    active_db: float
    activity: float


def decibels(power: float) -> float:
    """Return 10 lg(power). Raises: ValueError if power is not positive."""
    if not power > 0:
        raise ValueError(f"power {power} has no level in dB; it must be positive")
    return float(10 * np.log10(power))


def power_from_db(level_db: float) -> float:
    """Return the power that corresponds to a level in dB."""
    return float(10 ** (level_db / 10))


def speech_level(
    samples: NDArray[np.inexact], rate_hz: int, *, silence_follows: bool = False
) -> SpeechLevel:
    """Return the active level of speech, shape (n,), by ITU-T P.56 method B.

    silence_follows: the samples end with the last sound, and silence follows them. The method
    counts 0.2 s after the last sound as active; without this time the level of a single call would
    be 0.4 dB too high. The activity refers to the samples given, and can exceed 1.

    For baseband this is the level of its real part: half of the mean square, and 2/pi of the
    envelope as mean rectified value over a few cycles of the carrier.

    The envelope is computed from means over about 2 ms, which is short compared with its time
    constant of 30 ms. Where the Recommendation interpolates between thresholds 6 dB apart, this
    function solves for the exact threshold, so the result follows any gain exactly. The active time
    is constant between two neighbouring envelope values, and the threshold is the lowest one whose
    level exceeds it by at most the margin. The search has to start from the lowest value: above the
    loudest sample the active time is zero, and every threshold would pass.

    Raises: ValueError if the signal is silent, not finite, or has no steady part.
    Source: ITU-T P.56 (12/2011), clause 8 (method B); P56_MARGIN_DB and the times are also from
    there.
    """
    signal = np.asarray(samples)
    magnitude = np.abs(signal)
    energy = float(np.dot(magnitude, magnitude))
    rectified = 1.0
    if np.iscomplexobj(signal):
        energy, rectified = energy / 2, 2 / np.pi
    if not np.isfinite(energy) or energy == 0:
        raise ValueError("there is no speech to measure: the sound is silent or not finite")
    step = max(1, round(rate_hz * ENVELOPE_BLOCK_S))
    blocks = np.pad(magnitude, (0, -len(magnitude) % step)).reshape(-1, step)
    means = blocks @ np.full(step, rectified / step)  # several times faster than mean(axis=1)
    length = len(signal)
    if silence_follows:
        means = np.append(means, np.zeros(round(FOLLOWING_SILENCE_S * rate_hz / step), means.dtype))
        length = step * len(means)
    count = min(step * active_means(energy / step, means, rate_hz / step), length)
    return SpeechLevel(active_db=decibels(energy / count), activity=count / len(signal))


def active_means(energy: float, means: NDArray[np.floating], rate_hz: float) -> int:
    """Return the number of short means during which speech is active, by ITU-T P.56 method B.

    energy: sum of the squared signal, in units of one mean's duration. means: mean rectified values
    of successive short parts, shape (n,), rate_hz of them in a second.

    Raises: ValueError if the signal has no steady part.
    """
    decay = float(np.exp(-1 / (rate_hz * P56_TIME_CONSTANT_S)))
    envelope = exponential_average(exponential_average(means, decay), decay)
    held = sliding_maximum(envelope, int(P56_HANGOVER_S * rate_hz + 0.5) + 1)
    thresholds = np.sort(held[held > 0])
    active = np.arange(len(thresholds), 0, -1)
    margin_db = 10 * np.log10(energy / active) - 20 * np.log10(thresholds)
    passing = np.flatnonzero(margin_db <= P56_MARGIN_DB)
    if not len(passing):  # a single click: no threshold lies 15.9 dB below its own level
        raise ValueError("there is no speech to measure: the sound has no steady part")
    return int(active[passing[0]])


def exponential_average(values: NDArray[np.floating], decay: float) -> FloatArray:
    """Return y[n] = decay y[n-1] + (1 - decay) x[n] of values x, shape (n,), from y = 0 on.

    decay: between 0.5 and 1. scipy.signal.lfilter does the same, but takes long to import. A block
    is short enough for the powers of decay to stay within the range of float.
    """
    averages = np.empty(len(values))
    powers = decay ** np.arange(1, min(AVERAGE_BLOCK, len(values)) + 1)
    last = 0.0
    for start in range(0, len(values), AVERAGE_BLOCK):
        block = slice(start, start + AVERAGE_BLOCK)
        power = powers[: len(values[block])]
        averages[block] = power * (last + (1 - decay) * np.cumsum(values[block] / power))
        last = averages[block][-1]
    return averages


def noise_density(snr_db: float, active_db: float) -> float:
    """Return N0, power per hertz, that gives this SNR for speech of this active level."""
    return power_from_db(active_db - snr_db) / REFERENCE_BANDWIDTH_HZ
