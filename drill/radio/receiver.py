"""The trainee's receiver: filter, AGC and audio limiter, in this order.

The filter is as steep as that of a good receiver: 2.6 kHz wide at half amplitude, it is 2.75 kHz
wide at -75 dB. The AGC keeps the peaks at a constant level. The limiter catches the peaks that the
AGC lets through, so no sample ever exceeds LIMITER_CEILING_DB.
"""

import numpy as np

from drill.core.conditions import Receiver
from drill.radio import AUDIO_RATE_HZ, BASEBAND_RATE_HZ, CENTRE_HZ
from drill.radio.filters import BandFilter, Passband, SignalArray
from drill.radio.gain_control import GainControl, GainTiming

AGC_TIMING = {
    "quick": GainTiming(hold_s=0.1, decay_db_per_s=60.0),
    "medium": GainTiming(hold_s=0.3, decay_db_per_s=25.0),
    "slow": GainTiming(hold_s=0.8, decay_db_per_s=12.0),
}
"""The gain recovers from a signal 20 dB stronger within 0.4, 1.1 and 2.5 s; the attack takes 4 ms.
Receivers for voice recover within about 0.2 to 4 s: common practice, no source. ETSI EN 300 373
asks for an attack of 5 to 10 ms and a recovery of 1 to 4 s (from memory)."""
AGC_TARGET_DB = -11.0
"""Level of the peaks after the AGC; noise and speech then have a mean level of about -22 dB."""
AGC_MAX_GAIN_DB = 60.0
"""Relative to the gain for a voice at 0 dB."""
LIMITER_CEILING_DB = -1.0
"""Highest level of any sample after the limiter."""
LIMITER_KNEE_DB = -4.0
"""The limiter leaves samples below this level unchanged."""


def receiver_passband(receiver: Receiver) -> Passband:
    """Return the passband of the receiver's filter."""
    return Passband(low_hz=receiver.low_hz, high_hz=receiver.high_hz)


def receiver_filter(receiver: Receiver) -> BandFilter:
    """Return the filter that turns baseband at BASEBAND_RATE_HZ into audio at AUDIO_RATE_HZ."""
    return BandFilter(
        receiver_passband(receiver),
        rate_in=BASEBAND_RATE_HZ,
        rate_out=AUDIO_RATE_HZ,
        centre_in=CENTRE_HZ,
    )


def receiver_agc(name: str, start_db: float) -> GainControl:
    """Return the AGC of this name (a key of AGC_TIMING).

    start_db: peak level that sets the gain before the first sample.
    """
    return GainControl(
        lambda level_db: np.minimum(AGC_TARGET_DB - level_db, AGC_MAX_GAIN_DB),
        AGC_TIMING[name],
        AUDIO_RATE_HZ,
        start_db,
    )


def limit_peaks(audio: SignalArray) -> SignalArray:
    """Return the audio with samples above LIMITER_KNEE_DB compressed below LIMITER_CEILING_DB."""
    knee, ceiling = 10 ** (LIMITER_KNEE_DB / 20), 10 ** (LIMITER_CEILING_DB / 20)
    loud = np.flatnonzero(np.abs(audio) > knee)
    if not len(loud):
        return audio
    limited = audio.copy()
    excess = np.abs(audio[loud]) - knee
    limited[loud] = np.sign(audio[loud]) * (
        knee + (ceiling - knee) * np.tanh(excess / (ceiling - knee))
    )
    return limited
