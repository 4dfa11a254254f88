"""Checks of the transmitter: constant PEP, gain of speech processing, and mistuning."""

from collections.abc import Iterator

import numpy as np
from scipy.fft import next_fast_len

from drill.core.conditions import Conditions, Transmitter
from drill.core.models import Clip
from drill.radio import AUDIO_RATE_HZ, BASEBAND_RATE_HZ, CENTRE_HZ
from drill.radio.levels import decibels
from drill.radio.neighbours import tune
from drill.radio.transmitter import Emission, transmit
from drill.selfcheck.figures import CheckedFigure
from drill.selfcheck.signals import carrier, linear_output, spoken_alphabet


def check_processing() -> Iterator[CheckedFigure]:
    """Measure PEP, mean power with speech processing, and intermodulation."""
    pep_db = decibels(resampled_pep(transmit(spoken_alphabet(), Transmitter())))
    for processing, min_gain_db in (("compressed", 1.0), ("clipped", 3.0)):
        emission = transmit(spoken_alphabet(), Transmitter(processing=processing))
        yield CheckedFigure(
            quantity=f"PEP, {processing} relative to unprocessed",
            value=decibels(resampled_pep(emission)) - pep_db,
            low=-0.1,
            high=0.1,
            unit="dB",
            source="PEP: ITU Radio Regulations No. 1.157",
        )
        yield CheckedFigure(
            quantity=f"mean power, {processing} relative to unprocessed",
            value=emission.level_db,
            low=min_gain_db,
            high=9,
            unit="dB",
            source="common practice, no source",
        )
    for overdrive_db, low, high in ((0.0, -31.0, -29.0), (12.0, -15.8, -13.8)):
        yield CheckedFigure(
            quantity=f"third-order products relative to PEP, overdrive {overdrive_db:g} dB",
            value=two_tone_products_db(overdrive_db),
            low=low,
            high=high,
            unit="dB",
            source="the amplifier's design; common practice 25 to 35 dB below PEP",
        )


def two_tone_products_db(overdrive_db: float) -> float:
    """Return the stronger third-order product of two equal tones relative to PEP, in dB."""
    time = np.arange(4 * AUDIO_RATE_HZ) / AUDIO_RATE_HZ
    tones = (np.sin(2 * np.pi * 1200 * time) + np.sin(2 * np.pi * 1800 * time)).astype(np.float32)
    clip = Clip(samples=tones, rate_hz=AUDIO_RATE_HZ)
    emission = transmit(clip, Transmitter(overdrive_db=overdrive_db))
    middle = emission.samples[emission.rate_hz : 3 * emission.rate_hz].astype(np.complex128)
    spectrum = np.abs(np.fft.fft(middle)) / len(middle)
    products = [spectrum[round((audio_hz - CENTRE_HZ) * 2)] for audio_hz in (600, 2400)]
    return float(20 * np.log10(max(products) / np.max(np.abs(middle))))


def resampled_pep(emission: Emission) -> float:
    """Return the peak envelope power, measured on the spectrum interpolated 16 times in time."""
    from scipy.signal import resample

    size = next_fast_len(len(emission.samples))
    padded = np.pad(emission.samples.astype(np.complex128), (0, size - len(emission.samples)))
    return float(np.max(np.abs(np.asarray(resample(padded, 16 * size))) ** 2)) / 2


def check_mistuning() -> Iterator[CheckedFigure]:
    """Measure the audio frequency of a carrier from a mistuned station."""
    for offset_hz in (120.0, -37.3):
        emission = Emission(samples=carrier(1000, 8), rate_hz=BASEBAND_RATE_HZ, level_db=0)
        audio = linear_output(Conditions(snr_db=None), tune(emission, offset_hz))
        size = 1 << 20
        spectrum = np.abs(np.fft.rfft(audio.astype(np.float64) * np.hanning(len(audio)), size))
        audio_hz = float(np.argmax(spectrum)) * AUDIO_RATE_HZ / size
        yield CheckedFigure(
            quantity=f"shift of a 1000 Hz tone, station {offset_hz:+g} Hz off",
            value=audio_hz - 1000,
            low=offset_hz - 0.5,
            high=offset_hz + 0.5,
            unit="Hz",
            source="arithmetic",
        )
