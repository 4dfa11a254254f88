"""From the far operator's voice to the trainee's ears: the stages in their true order.

The path is linear, so that speech and noise are carried apart to the end: their sum is heard, and
each can be measured alone.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from drill.items import Clip, Conditions, WordTime
from drill.radio import RADIO_RATE_HZ
from drill.radio.ionosphere import fade
from drill.radio.levels import decibels, noise_density
from drill.radio.noise import band_noise
from drill.radio.passband import Passband, limit, noise_bandwidth_hz
from drill.radio.streams import stream
from drill.radio.transmitter import transmit

LOUDNESS_DB = -23.0
"""Mean level of what is heard while the far station speaks, speech and noise together."""
PEAK_DB = -1.0
"""No sample is above this; an item whose peaks would be is made softer as a whole."""
RAMP_S = 0.02
LEAD_S = 0.6
TAIL_S = 0.5
EMITTED = Passband(low_hz=300.0, high_hz=2700.0)
"""A common width of single-sideband speech; common practice, no source."""
RECEIVED = Passband(low_hz=250.0, high_hz=2750.0)
"""A little wider, so that the receiver takes nothing more from the voice."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Heard:
    """What comes out of the receiver: speech and noise apart, shape (n,), same scale, and words."""

    speech: NDArray[np.float64]
    noise: NDArray[np.float64]
    words: tuple[WordTime, ...]

    def clip(self) -> Clip:
        """Return the sum as it goes to the ears."""
        return Clip(
            samples=np.asarray(self.speech + self.noise, dtype=np.float32),
            rate_hz=RADIO_RATE_HZ,
            words=self.words,
        )


def travel(voice: Clip, conditions: Conditions, seed: int) -> Heard:
    """Return what the trainee hears of a voice under these conditions.

    The gain is set from the mean levels, not from what this item's fading made of them: a receiver
    whose volume is left alone. Starts and ends with ramps of RAMP_S; never above PEAK_DB.

    Raises: ValueError where the voice is silent.
    """
    sent = transmit(voice, EMITTED)
    lead, tail = (np.zeros(round(t * RADIO_RATE_HZ), sent.dtype) for t in (LEAD_S, TAIL_S))
    sent = np.concatenate([lead, sent, tail])
    faded = fade(sent, RADIO_RATE_HZ, conditions.fading, stream(seed, "fading"))
    speech = limit(faded, RECEIVED, RADIO_RATE_HZ).real
    heard_power = 1.0  # the transmitter's output has an active level of 0 dB
    noise = np.zeros(len(speech))
    if conditions.snr_db is not None:
        density = noise_density(conditions.snr_db, active_db=0.0)
        white = band_noise(len(speech), RADIO_RATE_HZ, density, stream(seed, "noise"))
        noise = limit(white, RECEIVED, RADIO_RATE_HZ).real
        heard_power += density * noise_bandwidth_hz(RECEIVED, RADIO_RATE_HZ)
    gain_db = LOUDNESS_DB - decibels(heard_power)
    peak = float(np.max(np.abs(speech + noise)))
    gain = 10 ** (min(gain_db, PEAK_DB - 2 * decibels(peak)) / 20)
    envelope = gain * ramps(len(speech))
    words = tuple(
        WordTime(say=w.say, start_s=w.start_s + LEAD_S, end_s=w.end_s + LEAD_S) for w in voice.words
    )
    return Heard(speech=speech * envelope, noise=noise * envelope, words=words)


def ramps(count: int) -> NDArray[np.float64]:
    """Return an envelope, shape (count,), that rises and falls as a raised cosine over RAMP_S."""
    length = min(round(RAMP_S * RADIO_RATE_HZ), count // 2)
    rise = 0.5 - 0.5 * np.cos(np.pi * np.arange(length) / max(length, 1))
    result = np.ones(count)
    result[:length] = rise
    result[count - length :] = rise[::-1]
    return result
