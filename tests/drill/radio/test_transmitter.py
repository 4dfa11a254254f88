"""The far station's transmitter: level, PEP, processing, microphone, splatter."""

import numpy as np
import pytest
from scipy.signal import welch

from drill.core.conditions import MICROPHONES, PROCESSING, Transmitter
from drill.core.models import Clip
from drill.radio import BASEBAND_RATE_HZ, CENTRE_HZ, WIDE_BASEBAND_RATE_HZ
from drill.radio.levels import speech_level
from drill.radio.transmitter import Emission, microphone_gain, peak_envelope_power, transmit
from tests.drill.radio.sounds import voice_like

VOICE = voice_like(6.0)


def density_db(emission: Emission, audio_hz: float) -> float:
    """Return the power density at an audio frequency, dB; both sidebands are distinguished."""
    frequency, power = welch(
        emission.samples, emission.rate_hz, nperseg=1024, return_onesided=False
    )
    near = np.abs(frequency - (audio_hz - CENTRE_HZ)) < 40
    return float(10 * np.log10(np.mean(power[near])))


@pytest.mark.parametrize("gain_db", [-40, 0, 30])
@pytest.mark.parametrize("rate_hz", [8_000, 11_025, 16_000, 22_050, 44_100])
def test_an_emission_has_0_db_whatever_the_level_of_the_voice(rate_hz: int, gain_db: int) -> None:
    clip = voice_like(6.0, rate_hz=rate_hz)
    scaled = Clip(samples=clip.samples * np.float32(10 ** (gain_db / 20)), rate_hz=rate_hz)
    emission = transmit(scaled, Transmitter())
    assert emission.rate_hz == BASEBAND_RATE_HZ
    assert len(emission.samples) == pytest.approx(6 * BASEBAND_RATE_HZ, abs=1)
    assert speech_level(emission.samples, BASEBAND_RATE_HZ).active_db == pytest.approx(0, abs=0.01)


@pytest.mark.parametrize("processing", PROCESSING)
def test_processing_keeps_the_pep_and_raises_the_mean(processing: str) -> None:
    plain = transmit(VOICE, Transmitter())
    emission = transmit(VOICE, Transmitter(processing=processing))
    assert 10 * np.log10(peak_envelope_power(emission.samples, emission.rate_hz)) == pytest.approx(
        10 * np.log10(peak_envelope_power(plain.samples, plain.rate_hz)), abs=0.1
    )
    measured_db = speech_level(emission.samples, emission.rate_hz).active_db
    assert emission.level_db == pytest.approx(measured_db, abs=0.01)
    expected_db = plain.peak_to_speech_db - measured_db
    assert emission.peak_to_speech_db == pytest.approx(expected_db, abs=0.1)
    if processing != "none":
        assert emission.level_db > 1


def test_clipping_gains_more_than_compression() -> None:
    gains_db = [transmit(VOICE, Transmitter(processing=kind)).level_db for kind in PROCESSING]
    assert gains_db == sorted(gains_db)


@pytest.mark.parametrize("processing", PROCESSING)
def test_a_clean_station_stays_in_its_band(processing: str) -> None:
    emission = transmit(VOICE, Transmitter(processing=processing))
    inside_db = density_db(emission, 1500)
    for audio_hz in (50, 2950, 3300):
        assert density_db(emission, audio_hz) < inside_db - 45, audio_hz


def test_an_overdriven_station_splatters_on_both_sides() -> None:
    """Odd-order products lie beside the band and grow with the drive; the PEP stays."""
    clean = transmit(VOICE, Transmitter())
    splatter_db = []
    for overdrive_db in (3.0, 10.0, 20.0):
        emission = transmit(VOICE, Transmitter(overdrive_db=overdrive_db))
        assert emission.rate_hz == WIDE_BASEBAND_RATE_HZ
        assert peak_envelope_power(emission.samples, emission.rate_hz) == pytest.approx(
            peak_envelope_power(clean.samples, clean.rate_hz), rel=0.03
        )
        inside_db = density_db(emission, 1500)
        above_db = density_db(emission, 3500) - inside_db
        below_db = density_db(emission, -500) - inside_db
        assert above_db == pytest.approx(below_db, abs=1.5)
        splatter_db.append(above_db)
    assert splatter_db == sorted(splatter_db)
    assert -45 < splatter_db[0] < splatter_db[-1] < -10


def test_the_emission_has_the_requested_width() -> None:
    narrow = transmit(VOICE, Transmitter(low_hz=500, high_hz=2000))
    assert density_db(narrow, 1200) > density_db(narrow, 400) + 40
    assert density_db(narrow, 1200) > density_db(narrow, 2200) + 40


@pytest.mark.parametrize("name", MICROPHONES)
def test_a_microphone_tilts_the_spectrum_by_its_curve(name: str) -> None:
    plain = transmit(VOICE, Transmitter())
    emission = transmit(VOICE, Transmitter(microphone=name))
    low, high = microphone_gain(name, np.array([500.0, 2500.0]))
    tilt_db = density_db(emission, 2500) - density_db(emission, 500)
    plain_tilt_db = density_db(plain, 2500) - density_db(plain, 500)
    assert tilt_db - plain_tilt_db == pytest.approx(20 * np.log10(high / low), abs=0.7)


def test_a_silent_voice_is_rejected() -> None:
    with pytest.raises(ValueError, match="no speech"):
        transmit(Clip(samples=np.zeros(9000, np.float32), rate_hz=24_000), Transmitter())
