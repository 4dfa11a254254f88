"""The far station's transmitter: turns a voice into a single-sideband signal.

A voice passes through the microphone, the sideband filter, speech processing (if any), automatic
level control (ALC) and the final amplifier. The peak envelope power (PEP) does not depend on the
processing: as in a real transmitter, a processor raises the mean power only by bringing the rest of
the signal closer to the peaks. Without processing it is RATED_PEP_DB above the active speech level,
or more for a voice with high peaks. Published figures for unprocessed speech are 8 dB (CCIR, quoted
second-hand), 9 to 10 dB (carrier telephony, second-hand) and 10 dB (ITU-R SM.326, smoothly read
text, value from memory).

PEP is the mean power over one cycle of the radio frequency at the crest of the envelope; here that
is half the square of the envelope's peak. Source: ITU Radio Regulations, No. 1.157.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from drill.core.arrays import resample
from drill.core.conditions import Transmitter
from drill.core.models import Clip, Samples
from drill.radio import AUDIO_RATE_HZ, CENTRE_HZ, SPLATTER_RATE_HZ, TRANSMITTER_RATE_HZ
from drill.radio.filters import RATE_STEP_HZ, BandFilter, ComplexArray, Passband, apply_filter
from drill.radio.level_control import amplify_with_alc, expected_pep_over_speech_db
from drill.radio.levels import (
    RATED_PEP_DB,
    SpeechLevel,
    decibels,
    power_from_db,
    speech_level,
)
from drill.radio.speech_processing import process_speech

PEP_OVER_SPEECH_DB = {"none": RATED_PEP_DB, "compressed": 8.0, "clipped": 6.0}
"""PEP relative to the active speech level to which the ALC is set. The values for processed speech
are common practice, no source."""
CLOSE_OFFSET_HZ = 2250.0
"""Up to this distance from the receiver's frequency, TRANSMITTER_RATE_HZ covers everything
audible."""
PEAK_REACH = 12
PEAK_PHASES = 8
NEAR_PEAK = 0.85
"""Peaks are searched only beside samples above this fraction of the largest one: at
TRANSMITTER_RATE_HZ the samples next to a peak are at most 1 dB lower than the peak."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Emission:
    """A transmitted signal: complex64 baseband at rate_hz, shape (n,).

    level_db: active speech level relative to the same voice without processing, which is the gain
    of the processing at the same PEP.
    """

    samples: ComplexArray
    rate_hz: int
    level_db: float

    @property
    def peak_to_speech_db(self) -> float:
        """The peak envelope power relative to the active speech level, in dB."""
        return decibels(peak_envelope_power(self.samples)) - self.level_db


def transmit(clip: Clip, transmitter: Transmitter) -> Emission:
    """Return the emission of a voice. `tune` applies the transmitter's off_frequency_hz.

    The level is measured on the clip with silence before and after it.

    Raises: ValueError if the clip contains no speech.
    """
    rate_hz = TRANSMITTER_RATE_HZ
    voice, level = _modulated(clip, transmitter, rate_hz)
    signal = _amplified(voice, level, transmitter, rate_hz)
    level_db = 0.0
    if transmitter.processing != "none" or transmitter.overdrive_db > 0:
        unprocessed_db = expected_pep_over_speech_db(
            voice,
            rate_hz,
            activity=level.activity,
            pep_over_speech_db=PEP_OVER_SPEECH_DB["none"],
        )
        level_db = unprocessed_db - decibels(peak_envelope_power(signal))
        signal *= np.float32(np.sqrt(power_from_db(level_db)))
    return Emission(samples=signal, rate_hz=rate_hz, level_db=level_db)


def transmit_neighbour(clip: Clip, transmitter: Transmitter, offset_hz: float) -> Emission:
    """Return the emission of a neighbour's voice with an active speech level of 0 dB.

    offset_hz: frequency of the neighbour minus that of the receiver, which determines how far from
    the voice its splatter has to be computed.

    Raises: ValueError if the clip contains no speech.
    """
    rate_hz = TRANSMITTER_RATE_HZ if abs(offset_hz) <= CLOSE_OFFSET_HZ else SPLATTER_RATE_HZ
    rate_in = rate_hz if transmitter.processing == "none" else TRANSMITTER_RATE_HZ
    voice, level = _modulated(clip, transmitter, rate_in)
    signal = _amplified(voice, level, transmitter, rate_hz)
    return Emission(samples=signal, rate_hz=rate_hz, level_db=0.0)


def microphone_gain(name: str, frequency_hz: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return a microphone's gain at each frequency, shape (n,); it is 1 at 1 kHz.

    name: plain (flat), bright (rises) or dull (falls), by 6 dB per octave between 700 and 2100 Hz;
    common practice, no source.
    """
    if name == "plain":
        return np.ones_like(frequency_hz)

    def shelf(frequency: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.asarray(np.sqrt((1 + (frequency / 700) ** 2) / (1 + (frequency / 2100) ** 2)))

    gain = shelf(frequency_hz) / shelf(np.array([1000.0]))
    return np.asarray(gain if name == "bright" else 1 / gain)


def _peak_kernel() -> NDArray[np.complex64]:
    """Return the Kaiser-windowed sinc that interpolates PEAK_PHASES values around a sample."""
    offset = (np.arange(PEAK_PHASES) / PEAK_PHASES - 0.5)[:, None] - np.arange(
        -PEAK_REACH, PEAK_REACH + 1
    )
    window = np.i0(6 * np.sqrt(1 - (offset / (PEAK_REACH + 1)) ** 2)) / np.i0(6)
    return (np.sinc(offset) * window).astype(np.complex64)


_PEAK_KERNEL = _peak_kernel()


def peak_envelope_power(signal: ComplexArray) -> float:
    """Return the PEP of baseband, shape (n,), including peaks between samples.

    Apart from weak splatter, the signal's bandwidth is at most 0.35 of its sampling rate.
    """
    magnitude = np.pad(np.abs(signal), 1)
    near = np.flatnonzero(magnitude >= NEAR_PEAK * magnitude.max()) - 1
    near = near[
        (magnitude[near + 1] >= magnitude[near]) & (magnitude[near + 1] >= magnitude[near + 2])
    ]
    padded = np.pad(signal, PEAK_REACH)
    around = np.lib.stride_tricks.sliding_window_view(padded, 2 * PEAK_REACH + 1)[near]
    peak = float(np.max(np.abs(around @ _PEAK_KERNEL.T)))
    return peak**2 / 2


def _modulated(
    clip: Clip, transmitter: Transmitter, rate_hz: int
) -> tuple[ComplexArray, SpeechLevel]:
    """Return the voice after microphone and sideband filter at 0 dB, and its activity."""
    samples, rate_in = _at_valid_rate(clip)
    modulator = BandFilter(
        _passband(transmitter),
        rate_in=rate_in,
        rate_out=rate_hz,
        centre_out=CENTRE_HZ,
        weight=None
        if transmitter.microphone == "plain"
        else lambda frequency_hz: microphone_gain(transmitter.microphone, frequency_hz),
    )
    signal = apply_filter(modulator, samples)
    level = speech_level(signal, rate_hz, silence_follows=True)
    signal *= _normalising_gain(level)
    return signal, level


def _amplified(
    voice: ComplexArray, level: SpeechLevel, transmitter: Transmitter, rate_hz: int
) -> ComplexArray:
    """Return the emission, with an active level of 0 dB, of a voice after the sideband filter.

    Processed speech enters at TRANSMITTER_RATE_HZ, other speech at rate_hz.
    """
    processing = transmitter.processing
    if processing != "none":
        distorted = process_speech(voice, processing, TRANSMITTER_RATE_HZ)
        voice = _filtered(distorted, transmitter, rate_hz)
    signal = amplify_with_alc(
        voice,
        rate_hz,
        activity=level.activity,
        pep_over_speech_db=PEP_OVER_SPEECH_DB[processing],
        overdrive_db=transmitter.overdrive_db,
    )
    signal *= _normalising_gain(speech_level(signal, rate_hz, silence_follows=True))
    return signal


def _normalising_gain(level: SpeechLevel) -> np.float32:
    """Return the factor that brings the active level to 0 dB."""
    return np.float32(np.sqrt(power_from_db(-level.active_db)))


def _at_valid_rate(clip: Clip) -> tuple[Samples, int]:
    """Return samples and rate, resampled if the filter's blocks do not fit the clip's rate."""
    if clip.rate_hz % RATE_STEP_HZ == 0:
        return np.asarray(clip.samples, np.float32), clip.rate_hz
    samples = resample(clip.samples.astype(np.float64), clip.rate_hz, AUDIO_RATE_HZ)
    return np.asarray(samples, np.float32), AUDIO_RATE_HZ


def _passband(transmitter: Transmitter) -> Passband:
    return Passband(low_hz=transmitter.low_hz, high_hz=transmitter.high_hz)


def _filtered(signal: ComplexArray, transmitter: Transmitter, rate_out: int) -> ComplexArray:
    """Return processed speech after a second pass through the sideband filter."""
    sideband_filter = BandFilter(
        _passband(transmitter),
        rate_in=TRANSMITTER_RATE_HZ,
        rate_out=rate_out,
        centre_in=CENTRE_HZ,
        centre_out=CENTRE_HZ,
    )
    return apply_filter(sideband_filter, signal)
