"""The trainee's receiver: filter, AGC, audio limiter, in this order.

The filter's edges are as steep as those of a good receiver: with 2.6 kHz between the points of half
amplitude, 2.75 kHz at -75 dB. The AGC holds the peaks at a steady level; the limiter catches what
it lets through, so that nothing louder ever reaches the ears.
"""

import numpy as np

from drill.core.conditions import Receiver
from drill.radio import CENTRE_HZ, CORE_RATE_HZ, RADIO_RATE_HZ
from drill.radio.filters import BandFilter, Passband, Signal
from drill.radio.gain_control import Follower, Pace

PACES = {
    "quick": Pace(hold_s=0.05, fall_db_s=120.0),
    "medium": Pace(hold_s=0.25, fall_db_s=40.0),
    "slow": Pace(hold_s=0.8, fall_db_s=15.0),
}
"""Common practice, no source."""
TARGET_DB = -11.0
"""Where the AGC holds the peaks; noise and speech are then about -22 dB in the mean."""
MOST_GAIN_DB = 60.0
"""Against the gain for a voice at 0 dB."""
LIMIT_DB = -1.0
"""No sample is above this."""
KNEE_DB = -4.0
"""Below this the limiter does nothing."""


def passband(receiver: Receiver) -> Passband:
    """Return the receiver's filter."""
    return Passband(low_hz=receiver.low_hz, high_hz=receiver.high_hz)


def front_end(receiver: Receiver) -> BandFilter:
    """Return the filter that makes sound at RADIO_RATE_HZ of the slice at CORE_RATE_HZ."""
    return BandFilter(
        passband(receiver), rate_in=CORE_RATE_HZ, rate_out=RADIO_RATE_HZ, centre_in=CENTRE_HZ
    )


def agc(name: str, start_db: float) -> Follower:
    """Return the gain control of this name, ruled at first by a peak level of start_db."""
    return Follower(
        lambda level: np.minimum(TARGET_DB - level, MOST_GAIN_DB),
        PACES[name],
        RADIO_RATE_HZ,
        start_db,
    )


def limit(sound: Signal) -> Signal:
    """Return the sound with everything above KNEE_DB bent smoothly under LIMIT_DB."""
    knee, top = 10 ** (KNEE_DB / 20), 10 ** (LIMIT_DB / 20)
    high = np.flatnonzero(np.abs(sound) > knee)
    if not len(high):
        return sound
    result = sound.copy()
    over = np.abs(sound[high]) - knee
    result[high] = np.sign(sound[high]) * (knee + (top - knee) * np.tanh(over / (top - knee)))
    return result
