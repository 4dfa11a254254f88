"""Interference: pitch, level and rate of whistle, buzz and pulses."""

from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray

from drill.core.conditions import Buzz, Conditions, Noise, Pulses, Whistle
from drill.radio import AUDIO_RATE_HZ
from drill.radio.presets import parse_receiver
from tests.drill.radio.measured import strongest_hz, without_wanted_station


def interference_alone(conditions: Conditions, seconds: float) -> NDArray[np.float64]:
    """Return the interference after the receiver's filter, without the noise.

    At an SNR of 0 dB the noise in 3 kHz has a power of 1, so levels are relative to it.
    """
    noise = without_wanted_station(replace(conditions, noise=Noise()), seconds)
    return without_wanted_station(conditions, seconds) - noise


def test_a_whistle_is_heard_at_its_pitch_and_level() -> None:
    whistle = Whistle(pitch_hz=1234.0, snr_db=10.0)
    audio = interference_alone(Conditions(snr_db=0.0, noise=Noise(whistle=whistle)), 20.0)
    assert strongest_hz(audio) == pytest.approx(1234, abs=0.1)
    assert 10 * np.log10(np.mean(audio**2)) == pytest.approx(10.0, abs=0.05)


@pytest.mark.parametrize("mains_hz", [50.0, 60.0])
def test_a_buzz_consists_of_harmonics_of_twice_the_mains_frequency(mains_hz: float) -> None:
    conditions = Conditions(
        snr_db=0.0,
        receiver=parse_receiver("wide"),
        noise=Noise(buzz=Buzz(mains_hz=mains_hz, snr_db=10.0)),
    )
    audio = interference_alone(conditions, 30.0)
    spectrum = np.abs(np.fft.rfft(audio * np.hanning(len(audio)))) ** 2
    frequency = np.fft.rfftfreq(len(audio), 1 / AUDIO_RATE_HZ)
    harmonic = frequency / (2 * mains_hz)
    near = np.abs(harmonic - np.round(harmonic)) * 2 * mains_hz < 10
    assert np.sum(spectrum[near]) > 0.95 * np.sum(spectrum)
    # The stated level is that of all harmonics up to 3400 Hz; the filter removes a few of them.
    assert 10 * np.log10(np.mean(audio**2)) == pytest.approx(10.0, abs=1.0)


def test_pulses_come_at_their_rate_and_mean_level() -> None:
    pulses = Pulses(rate_hz=10.0, snr_db=10.0)
    audio = interference_alone(Conditions(snr_db=0.0, noise=Noise(pulses=pulses)), 20.0)
    loud = np.abs(audio) > 0.3 * np.max(np.abs(audio))
    starts = np.flatnonzero(loud[1:] & ~loud[:-1])
    gaps = np.diff(starts)[np.diff(starts) > 0.05 * AUDIO_RATE_HZ]
    assert len(gaps) == pytest.approx(199, abs=2)
    assert 10 * np.log10(np.mean(audio**2)) == pytest.approx(10.0, abs=0.7)
