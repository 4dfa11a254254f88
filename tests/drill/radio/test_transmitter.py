"""The far station's transmitter: level, PEP, processing, microphone, splatter."""

import numpy as np
import pytest
from scipy.signal import welch

from drill.core.conditions import MICROPHONES, PROCESSING, Transmitter
from drill.core.models import Clip
from drill.radio import BASEBAND_RATE_HZ, CENTRE_HZ, WIDE_BASEBAND_RATE_HZ
from drill.radio.levels import speech_level
from drill.radio.transmitter import Emission, microphone_gain, peak_envelope_power, transmit


def voice_like(seconds: float = 6.0, rate_hz: int = 24_000, seed: int = 0) -> Clip:
    """Return noise that swells four times a second: as uneven as speech, from a seed."""
    time = np.arange(round(seconds * rate_hz)) / rate_hz
    noise = np.random.default_rng(seed).standard_normal(len(time))
    swell = np.sin(2 * np.pi * 2 * time) ** 2
    return Clip(samples=(0.1 * noise * swell).astype(np.float32), rate_hz=rate_hz)


def density_db(emission: Emission, frequency_hz: float) -> float:
    """Return the power density at a frequency of audio, dB, both sides of the centre told apart."""
    frequency, power = welch(
        emission.samples, emission.rate_hz, nperseg=1024, return_onesided=False
    )
    at = np.abs(frequency - (frequency_hz - CENTRE_HZ)) < 40
    return float(10 * np.log10(np.mean(power[at])))


@pytest.mark.parametrize("gain_db", [-40, 0, 30])
@pytest.mark.parametrize("rate_hz", [8_000, 11_025, 16_000, 22_050, 44_100])
def test_the_emission_has_its_level_whatever_comes_in(rate_hz: int, gain_db: int) -> None:
    clip = voice_like(rate_hz=rate_hz)
    louder = Clip(samples=clip.samples * np.float32(10 ** (gain_db / 20)), rate_hz=rate_hz)
    emission = transmit(louder, Transmitter())
    assert emission.rate_hz == BASEBAND_RATE_HZ
    assert len(emission.samples) == pytest.approx(6 * BASEBAND_RATE_HZ, abs=1)
    assert speech_level(emission.samples, BASEBAND_RATE_HZ).active_db == pytest.approx(0, abs=0.01)


@pytest.mark.parametrize("processing", PROCESSING)
def test_processing_keeps_the_peaks_and_raises_the_mean(processing: str) -> None:
    plain = transmit(voice_like(), Transmitter())
    emission = transmit(voice_like(), Transmitter(processing=processing))
    assert 10 * np.log10(peak_envelope_power(emission.samples, emission.rate_hz)) == pytest.approx(
        10 * np.log10(peak_envelope_power(plain.samples, plain.rate_hz)), abs=0.1
    )
    measured = speech_level(emission.samples, emission.rate_hz).active_db
    assert emission.level_db == pytest.approx(measured, abs=0.01)
    assert emission.peak_to_speech_db == pytest.approx(plain.peak_to_speech_db - measured, abs=0.1)
    if processing != "none":
        assert emission.level_db > 1


def test_clipping_gains_more_than_compression() -> None:
    gains = [transmit(voice_like(), Transmitter(processing=p)).level_db for p in PROCESSING]
    assert gains == sorted(gains)


@pytest.mark.parametrize("processing", PROCESSING)
def test_a_clean_station_stays_in_its_band(processing: str) -> None:
    emission = transmit(voice_like(), Transmitter(processing=processing))
    inside = density_db(emission, 1500)
    for frequency_hz in (50, 2950, 3300):
        assert density_db(emission, frequency_hz) < inside - 45, frequency_hz


def test_an_overdriven_station_splatters_on_both_sides() -> None:
    """Odd products lie beside the band; more drive, more of them; the peaks stay."""
    clean = transmit(voice_like(), Transmitter())
    levels = []
    for drive_db in (3.0, 10.0, 20.0):
        emission = transmit(voice_like(), Transmitter(overdrive_db=drive_db))
        assert emission.rate_hz == WIDE_BASEBAND_RATE_HZ
        assert peak_envelope_power(emission.samples, emission.rate_hz) == pytest.approx(
            peak_envelope_power(clean.samples, clean.rate_hz), rel=0.03
        )
        inside = density_db(emission, 1500)
        above = density_db(emission, 3500) - inside
        below = density_db(emission, -500) - inside
        assert above == pytest.approx(below, abs=1.5)
        levels.append(above)
    assert levels == sorted(levels)
    assert -45 < levels[0] < levels[-1] < -10


def test_the_width_of_the_emission() -> None:
    narrow = transmit(voice_like(), Transmitter(low_hz=500, high_hz=2000))
    assert density_db(narrow, 1200) > density_db(narrow, 400) + 40
    assert density_db(narrow, 1200) > density_db(narrow, 2200) + 40


@pytest.mark.parametrize("name", MICROPHONES)
def test_a_microphone_tilts_the_spectrum_by_its_curve(name: str) -> None:
    plain = transmit(voice_like(), Transmitter())
    emission = transmit(voice_like(), Transmitter(microphone=name))
    low, high = microphone_gain(name, np.array([500.0, 2500.0]))
    tilt = density_db(emission, 2500) - density_db(emission, 500)
    was = density_db(plain, 2500) - density_db(plain, 500)
    assert tilt - was == pytest.approx(20 * np.log10(high / low), abs=0.7)


def test_a_silent_voice_is_refused() -> None:
    with pytest.raises(ValueError, match="no speech"):
        transmit(Clip(samples=np.zeros(9000, np.float32), rate_hz=24_000), Transmitter())
