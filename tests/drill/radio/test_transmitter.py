"""The far station's transmitter: level, PEP, processing, microphone, splatter."""

import numpy as np
import pytest
from scipy.signal import resample, welch

from drill.core.conditions import MICROPHONES, PROCESSING, Transmitter
from drill.core.models import Clip
from drill.radio import CENTRE_HZ, SPLATTER_RATE_HZ, TRANSMITTER_RATE_HZ
from drill.radio import transmitter as transmitter_module
from drill.radio.filters import ComplexArray
from drill.radio.levels import RATED_PEP_DB, speech_level
from drill.radio.transmitter import (
    Emission,
    microphone_gain,
    peak_envelope_power,
    transmit,
    transmit_neighbour,
)
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
    assert emission.rate_hz == TRANSMITTER_RATE_HZ
    assert len(emission.samples) == pytest.approx(6 * TRANSMITTER_RATE_HZ, abs=1)
    padded = np.pad(emission.samples, TRANSMITTER_RATE_HZ)
    assert speech_level(padded, TRANSMITTER_RATE_HZ).active_db == pytest.approx(0, abs=0.01)


def measured_pep_db(emission: Emission) -> float:
    """Return the PEP, dB, of the spectrum interpolated 8 times in time, with SciPy."""
    samples = emission.samples.astype(np.complex128)
    fine = np.asarray(resample(samples, 8 * len(samples)))
    return float(10 * np.log10(np.max(np.abs(fine)) ** 2 / 2))


def test_a_voice_without_processing_has_the_rated_pep() -> None:
    """The search for the ALC's ceiling only estimates what the amplifier does to peaks."""
    assert measured_pep_db(transmit(VOICE, Transmitter())) == pytest.approx(RATED_PEP_DB, abs=0.2)


@pytest.mark.parametrize("processing", PROCESSING)
@pytest.mark.parametrize("overdrive_db", [0.0, 12.0])
def test_processing_keeps_the_pep_and_raises_the_mean(processing: str, overdrive_db: float) -> None:
    transmitter = Transmitter(processing=processing, overdrive_db=overdrive_db)
    emission = transmit(VOICE, transmitter)
    pep_db = measured_pep_db(emission)
    assert pep_db == pytest.approx(measured_pep_db(transmit(VOICE, Transmitter())), abs=0.15)
    measured_db = speech_level(emission.samples, emission.rate_hz, silence_follows=True).active_db
    assert emission.level_db == pytest.approx(measured_db, abs=0.01)
    # Splatter reaches the edges of the sampled band, where the two interpolations differ.
    tolerance_db = 0.2 if overdrive_db else 0.02
    assert emission.peak_to_speech_db == pytest.approx(pep_db - measured_db, abs=tolerance_db)
    if processing != "none" or overdrive_db:
        assert emission.level_db > 1


@pytest.mark.parametrize("processing", PROCESSING)
@pytest.mark.parametrize("overdrive_db", [0.0, 12.0])
@pytest.mark.parametrize("offset_hz", [0.0, -5000.0])
def test_a_neighbour_has_an_active_level_of_0_db(
    processing: str, overdrive_db: float, offset_hz: float
) -> None:
    transmitter = Transmitter(processing=processing, overdrive_db=overdrive_db)
    emission = transmit_neighbour(VOICE, transmitter, offset_hz)
    padded = np.pad(emission.samples, emission.rate_hz)
    assert speech_level(padded, emission.rate_hz).active_db == pytest.approx(0, abs=0.01)


def test_the_pep_includes_a_peak_between_samples() -> None:
    """Two tones 2 kHz apart beat with peaks half a sample beside every fourth sample."""
    time = (np.arange(TRANSMITTER_RATE_HZ) + 0.5) / TRANSMITTER_RATE_HZ
    tones = (np.cos(2 * np.pi * 1000 * time) * np.hanning(len(time))).astype(np.complex64)
    assert 20 * np.log10(np.max(np.abs(tones))) < -0.6
    assert 10 * np.log10(2 * peak_envelope_power(tones)) == pytest.approx(0, abs=0.02)


def test_clipping_gains_more_than_compression() -> None:
    gains_db = [transmit(VOICE, Transmitter(processing=kind)).level_db for kind in PROCESSING]
    assert gains_db == sorted(gains_db)


@pytest.mark.parametrize("processing", PROCESSING)
def test_a_station_at_rated_drive_stays_in_its_band(processing: str) -> None:
    """Beside the band lie only the amplifier's products: 30 dB below PEP for two tones."""
    emission = transmit_neighbour(VOICE, Transmitter(processing=processing), 5000.0)
    inside_db = density_db(emission, 1500)
    for audio_hz, limit_db in ((50, -23), (2950, -23), (3300, -27), (-2500, -50), (5500, -50)):
        assert density_db(emission, audio_hz) < inside_db + limit_db, audio_hz


def test_an_overdriven_station_splatters_on_both_sides() -> None:
    """Odd-order products lie beside the band and grow with the drive."""
    splatter_db = []
    for overdrive_db in (0.0, 3.0, 10.0, 20.0):
        emission = transmit_neighbour(VOICE, Transmitter(overdrive_db=overdrive_db), 3000.0)
        assert emission.rate_hz == SPLATTER_RATE_HZ
        inside_db = density_db(emission, 1500)
        above_db = density_db(emission, 3500) - inside_db
        below_db = density_db(emission, -500) - inside_db
        assert above_db == pytest.approx(below_db, abs=1.5)
        splatter_db.append(above_db)
    assert splatter_db == sorted(splatter_db)
    assert -60 < splatter_db[0] < splatter_db[-1] < -10


def test_the_emission_has_the_requested_width() -> None:
    """Outside its edges lie only the amplifier's products."""
    narrow = transmit(VOICE, Transmitter(low_hz=500, high_hz=2000))
    assert density_db(narrow, 1200) > density_db(narrow, 380) + 20
    assert density_db(narrow, 1200) > density_db(narrow, 2120) + 20


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


@pytest.mark.parametrize("processing", PROCESSING)
def test_each_signal_is_measured_once(processing: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Measured: the level of the voice and of the emission, and the PEP of a processed emission."""
    levels = count_calls(monkeypatch, "speech_level")
    peaks = count_calls(monkeypatch, "peak_envelope_power")
    transmit(VOICE, Transmitter(processing=processing))
    assert len(levels) == 2
    assert len(peaks) == (processing != "none")
    transmit_neighbour(VOICE, Transmitter(processing=processing), 300.0)
    assert len(levels) == 4
    assert len(peaks) == (processing != "none")


def count_calls(monkeypatch: pytest.MonkeyPatch, name: str) -> list[int]:
    """Return a list that grows with every call of a function of the transmitter."""
    measure = getattr(transmitter_module, name)
    lengths: list[int] = []

    def counted(signal: ComplexArray, *arguments: int, **options: bool) -> object:
        lengths.append(len(signal))
        return measure(signal, *arguments, **options)

    monkeypatch.setattr(transmitter_module, name, counted)
    return lengths
