"""The far station's transmitter: turns a voice into a single-sideband signal.

Every transmitter has automatic level control (ALC), which reduces the gain when peaks would exceed
the rated power; without speech processing it holds them about 11 dB above the active level.
Published figures for unprocessed speech are 8 to 10 dB between mean and peak envelope power (CCIR,
quoted second-hand) and 10 dB for smoothly read text (ITU-R SM.326, value from memory).

Whatever processing is applied, the peak envelope power (PEP) stays the same: as on the air, a
processor raises the mean power only by raising the rest of the signal towards the peaks.

PEP is the mean power over one cycle of the radio frequency at the crest of the envelope; here that
is half the square of the envelope's peak. Source: ITU Radio Regulations, No. 1.157.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from drill.core.arrays import resample
from drill.core.conditions import Transmitter
from drill.core.models import Clip, Samples
from drill.radio import AUDIO_RATE_HZ, BASEBAND_RATE_HZ, CENTRE_HZ, WIDE_BASEBAND_RATE_HZ
from drill.radio.filters import RATE_STEP_HZ, BandFilter, ComplexArray, Passband, apply_filter
from drill.radio.gain_control import GainControl, GainLaw, GainTiming
from drill.radio.levels import decibels, power_from_db, speech_level

# The levels and times of ALC, compressor and clipper are common practice, no source.
ALC_PEAK_DB = 10.0
"""Envelope power up to this level above the active level passes the ALC unchanged."""
ALC_TIMING = GainTiming(hold_s=0.02, decay_db_per_s=60.0)
COMPRESSION_RATIO = 4.0
COMPRESSION_THRESHOLD_DB = -6.0
"""The compressor acts on envelope power above this level, relative to the active level."""
COMPRESSION_TIMING = GainTiming(hold_s=0.01, decay_db_per_s=200.0)
CLIPPING_DB = 0.0
"""Envelope power is clipped at this level, relative to the active level."""
SATURATION_SMOOTHNESS = 2
"""Parameter p of Rapp's amplifier model: between a soft and a hard limit."""
ENVELOPE_OVER_POWER_DB = 3.0103
"""The envelope's square is twice the signal's power."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Emission:
    """A transmitted signal: complex64 baseband, shape (n,).

    rate_hz: BASEBAND_RATE_HZ, or WIDE_BASEBAND_RATE_HZ if the station splatters. level_db: active
    speech level relative to the same voice without processing, which is the gain of the processing
    at the same PEP.
    """

    samples: ComplexArray
    rate_hz: int
    level_db: float

    @property
    def peak_to_speech_db(self) -> float:
        """The peak envelope power relative to the active speech level, in dB."""
        return decibels(peak_envelope_power(self.samples, self.rate_hz)) - self.level_db


def transmit(clip: Clip, transmitter: Transmitter) -> Emission:
    """Return the emission of a voice. `tune` applies the transmitter's off_frequency_hz.

    Raises: ValueError if the clip contains no speech.
    Source for the amplifier: C. Rapp, Effects of HPA-nonlinearity on a 4-DPSK/OFDM signal, 1991.
    """
    plain = _with_alc(_modulated(clip, transmitter, BASEBAND_RATE_HZ), BASEBAND_RATE_HZ)
    plain *= _normalising_gain(plain, BASEBAND_RATE_HZ)
    if transmitter.processing == "none" and transmitter.overdrive_db == 0:
        return Emission(samples=plain, rate_hz=BASEBAND_RATE_HZ, level_db=0.0)
    processed = _processed(_modulated(clip, transmitter, WIDE_BASEBAND_RATE_HZ), transmitter)
    signal = _with_alc(processed, WIDE_BASEBAND_RATE_HZ)
    rate_hz = WIDE_BASEBAND_RATE_HZ
    if transmitter.overdrive_db > 0:
        signal = _saturated(signal, transmitter.overdrive_db)
    else:
        rate_hz = BASEBAND_RATE_HZ
        signal = _filtered(signal, transmitter, rate_hz)
    pep = peak_envelope_power(plain, BASEBAND_RATE_HZ)
    signal = signal * np.float32(np.sqrt(pep / peak_envelope_power(signal, rate_hz)))
    level_db = speech_level(signal, rate_hz).active_db
    return Emission(samples=signal, rate_hz=rate_hz, level_db=level_db)


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


def peak_envelope_power(signal: ComplexArray, rate_hz: int) -> float:
    """Return the PEP of baseband, shape (n,), including peaks between samples.

    At BASEBAND_RATE_HZ a peak between two samples can be 4 dB higher than both.
    """
    reach_hz = 0.47 * rate_hz
    interpolator = BandFilter(
        Passband(low_hz=CENTRE_HZ - reach_hz, high_hz=CENTRE_HZ + reach_hz),
        rate_in=rate_hz,
        rate_out=AUDIO_RATE_HZ,
        centre_in=CENTRE_HZ,
        centre_out=CENTRE_HZ,
    )
    return float(np.max(np.abs(apply_filter(interpolator, signal))) ** 2 / 2)


def _modulated(clip: Clip, transmitter: Transmitter, rate_hz: int) -> ComplexArray:
    """Return the voice behind microphone and sideband filter, with an active level of 0 dB."""
    samples, rate_in = _at_valid_rate(clip)
    modulator = BandFilter(
        _passband(transmitter),
        rate_in=rate_in,
        rate_out=rate_hz,
        centre_out=CENTRE_HZ,
        weight=lambda frequency_hz: microphone_gain(transmitter.microphone, frequency_hz),
    )
    signal = apply_filter(modulator, samples)
    signal *= _normalising_gain(signal, rate_hz)
    return signal


def _at_valid_rate(clip: Clip) -> tuple[Samples, int]:
    """Return samples and rate, resampled if the filter's blocks do not fit the clip's rate."""
    if clip.rate_hz % RATE_STEP_HZ == 0:
        return np.asarray(clip.samples, np.float32), clip.rate_hz
    samples = resample(clip.samples.astype(np.float64), clip.rate_hz, AUDIO_RATE_HZ)
    return np.asarray(samples, np.float32), AUDIO_RATE_HZ


def _passband(transmitter: Transmitter) -> Passband:
    return Passband(low_hz=transmitter.low_hz, high_hz=transmitter.high_hz)


def _normalising_gain(signal: ComplexArray, rate_hz: int) -> np.float32:
    """Return the factor that brings the active level to 0 dB."""
    return np.float32(10 ** (-speech_level(signal, rate_hz).active_db / 20))


def _filtered(signal: ComplexArray, transmitter: Transmitter, rate_out: int) -> ComplexArray:
    """Return a signal at WIDE_BASEBAND_RATE_HZ behind another pass of the sideband filter."""
    sideband_filter = BandFilter(
        _passband(transmitter),
        rate_in=WIDE_BASEBAND_RATE_HZ,
        rate_out=rate_out,
        centre_in=CENTRE_HZ,
        centre_out=CENTRE_HZ,
    )
    return apply_filter(sideband_filter, signal)


def _saturated(signal: ComplexArray, overdrive_db: float) -> ComplexArray:
    """Return a signal at WIDE_BASEBAND_RATE_HZ behind Rapp's amplifier, driven by its peaks."""
    peak = np.sqrt(2 * peak_envelope_power(signal, WIDE_BASEBAND_RATE_HZ))
    saturation = peak / 10 ** (overdrive_db / 20)
    order = 2 * SATURATION_SMOOTHNESS
    return signal / (1 + (np.abs(signal) / np.float32(saturation)) ** order) ** (1 / order)


def _with_gain_control(
    signal: ComplexArray, law: GainLaw, timing: GainTiming, rate_hz: int
) -> ComplexArray:
    control = GainControl(law, timing, rate_hz)
    return np.concatenate([control.process(signal), control.finish()])


def _with_alc(signal: ComplexArray, rate_hz: int) -> ComplexArray:
    """Return a signal whose active level was 0 dB before processing, with its peaks limited."""
    top_db = ALC_PEAK_DB + ENVELOPE_OVER_POWER_DB
    return _with_gain_control(
        signal, lambda level_db: np.minimum(0, top_db - level_db), ALC_TIMING, rate_hz
    )


def _processed(signal: ComplexArray, transmitter: Transmitter) -> ComplexArray:
    """Return a signal at WIDE_BASEBAND_RATE_HZ behind speech processing and sideband filter.

    Input and output have an active level of 0 dB.
    """
    if transmitter.processing == "none":
        return signal
    if transmitter.processing == "clipped":
        ceiling = np.float32(np.sqrt(2 * power_from_db(CLIPPING_DB)))
        distorted = np.asarray(signal / np.maximum(1, np.abs(signal) / ceiling), np.complex64)
    else:
        threshold_db = COMPRESSION_THRESHOLD_DB + ENVELOPE_OVER_POWER_DB
        slope = 1 / COMPRESSION_RATIO - 1
        distorted = _with_gain_control(
            signal,
            lambda level_db: slope * np.maximum(0, level_db - threshold_db),
            COMPRESSION_TIMING,
            WIDE_BASEBAND_RATE_HZ,
        )
    distorted = distorted * _normalising_gain(distorted, WIDE_BASEBAND_RATE_HZ)
    return _filtered(distorted, transmitter, WIDE_BASEBAND_RATE_HZ)
