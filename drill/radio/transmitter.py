"""The far station's transmitter: a voice becomes a single-sideband signal.

Every transmitter has an automatic level control, which takes the gain back where peaks would go
over its rated power; without any processing it holds them about 11 dB above the active level.
Published figures for unprocessed speech are 8 to 10 dB between mean and peak envelope power
(CCIR, quoted second-hand) and 10 dB for smoothly read text (ITU-R SM.326, value from memory).

Whatever else is done to the voice, the peak envelope power stays: a processor raises the mean power
only by bringing the rest of the signal up to the peaks, as on the air.

Peak envelope power is the mean power over one cycle of the radio frequency at the crest of the
envelope, here half the square of the envelope's peak. Source: ITU Radio Regulations, No. 1.157.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from drill.core.arrays import resampled
from drill.core.conditions import Transmitter
from drill.core.models import Clip
from drill.radio import CENTRE_HZ, CORE_RATE_HZ, RADIO_RATE_HZ, WIDE_RATE_HZ
from drill.radio.filters import RATE_STEP_HZ, BandFilter, Complex, Passband, whole
from drill.radio.gain_control import Follower, Law, Pace
from drill.radio.levels import decibels, power_of, speech_level

LEVEL_CONTROL_DB = 10.0
"""Peaks of the envelope's power above the active level that the level control lets pass."""
LEVEL_CONTROL_PACE = Pace(hold_s=0.02, fall_db_s=60.0)
COMPRESSION_RATIO = 4.0
COMPRESSION_DB = -6.0
"""The compressor works on what is above this level against the active level."""
COMPRESSION_PACE = Pace(hold_s=0.01, fall_db_s=200.0)
CLIP_DB = 0.0
"""The envelope's power is limited to this level against the active level. All of these are common
practice, no source."""
SATURATION_ORDER = 2
"""Of Rapp's model; between a soft and a hard limit."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Emission:
    """What is on the air: complex64 samples (n,) around CENTRE_HZ.

    rate_hz: CORE_RATE_HZ, or WIDE_RATE_HZ where it splatters. The voice without processing has an
    active level of 0 dB. level_db: active level of this one, which is what the processing gains at
    the same peak envelope power.
    """

    samples: Complex
    rate_hz: int
    level_db: float

    @property
    def peak_to_speech_db(self) -> float:
        """Return the peak envelope power over the active speech level in dB."""
        return decibels(peak_power(self.samples, self.rate_hz)) - self.level_db


def transmit(clip: Clip, transmitter: Transmitter) -> Emission:
    """Return the emission of a voice; off_frequency_hz is left to the path.

    Raises: ValueError where the clip holds no speech.
    Source for the amplifier: C. Rapp, Effects of HPA-nonlinearity on a 4-DPSK/OFDM signal, 1991.
    """
    plain = _level_controlled(_voiced(clip, transmitter, CORE_RATE_HZ), CORE_RATE_HZ)
    plain *= _to_zero_db(plain, CORE_RATE_HZ)
    if transmitter.processing == "none" and transmitter.overdrive_db == 0:
        return Emission(samples=plain, rate_hz=CORE_RATE_HZ, level_db=0.0)
    wide = _processed(_voiced(clip, transmitter, WIDE_RATE_HZ), transmitter)
    signal = _level_controlled(wide, WIDE_RATE_HZ)
    rate_hz = WIDE_RATE_HZ
    if transmitter.overdrive_db > 0:
        top = np.sqrt(2 * peak_power(signal, rate_hz)) / 10 ** (transmitter.overdrive_db / 20)
        order = 2 * SATURATION_ORDER
        signal = signal / (1 + (np.abs(signal) / np.float32(top)) ** order) ** (1 / order)
    else:
        rate_hz = CORE_RATE_HZ
        signal = _filtered(signal, transmitter, rate_hz)
    pep = peak_power(plain, CORE_RATE_HZ)
    signal = signal * np.float32(np.sqrt(pep / peak_power(signal, rate_hz)))
    level_db = speech_level(signal, rate_hz).active_db
    return Emission(samples=signal, rate_hz=rate_hz, level_db=level_db)


def microphone_gain(name: str, frequency_hz: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the gain of a microphone over frequency, 1 at 1 kHz.

    bright rises and dull falls by 6 dB an octave between 700 and 2100 Hz; common practice, no
    source.
    """
    if name == "plain":
        return np.ones_like(frequency_hz)

    def rise(f: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.asarray(np.sqrt((1 + (f / 700) ** 2) / (1 + (f / 2100) ** 2)))

    gain = rise(frequency_hz) / rise(np.array([1000.0]))
    return np.asarray(gain if name == "bright" else 1 / gain)


def _at_a_rate_that_fits(clip: Clip) -> tuple[NDArray[np.float32], int]:
    """Return the samples and their rate, changed only where the blocks have no whole number."""
    if clip.rate_hz % RATE_STEP_HZ == 0:
        return np.asarray(clip.samples, np.float32), clip.rate_hz
    sound = resampled(clip.samples.astype(np.float64), clip.rate_hz, RADIO_RATE_HZ)
    return np.asarray(sound, np.float32), RADIO_RATE_HZ


def _to_zero_db(signal: Complex, rate_hz: int) -> np.float32:
    """Return the factor that brings the active level to 0 dB."""
    return np.float32(10 ** (-speech_level(signal, rate_hz).active_db / 20))


def peak_power(signal: Complex, rate_hz: int) -> float:
    """Return the peak envelope power, the peak sought between the samples too.

    Between two samples at CORE_RATE_HZ a peak may stand 4 dB higher.
    """
    reach_hz = 0.47 * rate_hz
    finer = BandFilter(
        Passband(low_hz=CENTRE_HZ - reach_hz, high_hz=CENTRE_HZ + reach_hz),
        rate_in=rate_hz,
        rate_out=RADIO_RATE_HZ,
        centre_in=CENTRE_HZ,
        centre_out=CENTRE_HZ,
    )
    return float(np.max(np.abs(whole(finer, signal))) ** 2 / 2)


def _band(transmitter: Transmitter) -> Passband:
    return Passband(low_hz=transmitter.low_hz, high_hz=transmitter.high_hz)


def _voiced(clip: Clip, transmitter: Transmitter, rate_hz: int) -> Complex:
    """Return what the microphone and the sideband filter make of the voice, active level 0 dB."""
    sound, rate_in = _at_a_rate_that_fits(clip)
    voice = BandFilter(
        _band(transmitter),
        rate_in=rate_in,
        rate_out=rate_hz,
        centre_out=CENTRE_HZ,
        weight=lambda frequency: microphone_gain(transmitter.microphone, frequency),
    )
    voiced = whole(voice, sound)
    voiced *= _to_zero_db(voiced, rate_hz)
    return voiced


def _filtered(signal: Complex, transmitter: Transmitter, rate_out: int) -> Complex:
    """Return a signal at WIDE_RATE_HZ after the sideband filter once more."""
    again = BandFilter(
        _band(transmitter),
        rate_in=WIDE_RATE_HZ,
        rate_out=rate_out,
        centre_in=CENTRE_HZ,
        centre_out=CENTRE_HZ,
    )
    return whole(again, signal)


def _controlled(signal: Complex, law: Law, pace: Pace, rate_hz: int) -> Complex:
    """Return the whole signal with a gain that follows its level."""
    control = Follower(law, pace, rate_hz)
    return np.concatenate([control.process(signal), control.finish()])


def _level_controlled(signal: Complex, rate_hz: int) -> Complex:
    """Return a signal, whose active level was 0 dB before processing, with its peaks held."""
    # The envelope of a signal is 3 dB above its power.
    top_db = LEVEL_CONTROL_DB + 3.0103
    return _controlled(
        signal, lambda level: np.minimum(0, top_db - level), LEVEL_CONTROL_PACE, rate_hz
    )


def _processed(voiced: Complex, transmitter: Transmitter) -> Complex:
    """Return a signal at WIDE_RATE_HZ, active level 0 dB, after speech processing and filter."""
    if transmitter.processing == "none":
        return voiced
    if transmitter.processing == "clipped":
        ceiling = np.float32(np.sqrt(2 * power_of(CLIP_DB)))
        bent = np.asarray(voiced / np.maximum(1, np.abs(voiced) / ceiling), np.complex64)
    else:
        threshold_db = COMPRESSION_DB + 3.0103
        slope = 1 / COMPRESSION_RATIO - 1
        bent = _controlled(
            voiced,
            lambda level: slope * np.maximum(0, level - threshold_db),
            COMPRESSION_PACE,
            WIDE_RATE_HZ,
        )
    bent = bent * _to_zero_db(bent, WIDE_RATE_HZ)
    return _filtered(bent, transmitter, WIDE_RATE_HZ)
