"""ALC: peaks between samples, the wanted PEP, and the largest gain reduction."""

import numpy as np
import pytest

from drill.core.conditions import Transmitter
from drill.radio import TRANSMITTER_RATE_HZ
from drill.radio.amplifier import amplifier_gain, rated_drive
from drill.radio.gain_control import CONTROL_BLOCK_S
from drill.radio.level_control import (
    MAX_ALC_DB,
    amplify_with_alc,
    expected_pep_over_speech_db,
    interpolated_peaks,
)
from drill.radio.levels import speech_level
from drill.radio.transmitter import peak_envelope_power, transmit
from tests.drill.radio.sounds import voice_like

BLOCK = round(CONTROL_BLOCK_S * TRANSMITTER_RATE_HZ)


@pytest.mark.parametrize("phase", np.linspace(0, 1, 9))
def test_a_peak_between_samples_is_found(phase: float) -> None:
    """Two tones 2 kHz apart beat with four samples to a peak; samples alone miss 0.69 dB."""
    time = (np.arange(50 * BLOCK) + phase) / TRANSMITTER_RATE_HZ
    envelope = np.abs(np.cos(2 * np.pi * 1000 * time))
    if phase == 0.5:
        assert 20 * np.log10(np.max(envelope)) == pytest.approx(-0.69, abs=0.01)
    peaks = interpolated_peaks(envelope.astype(np.float32).reshape(-1, BLOCK))
    assert 20 * np.log10(np.max(peaks)) == pytest.approx(0, abs=0.3)


def test_a_peak_is_reduced_by_at_most_the_stated_amount() -> None:
    """The amplifier's limit takes another 1.7 dB from the peak at rated drive."""
    signal = np.full(400 * BLOCK, 0.01, np.complex64)
    signal[200 * BLOCK : 204 * BLOCK] += np.hanning(4 * BLOCK).astype(np.float32)
    output = amplify_with_alc(
        signal, TRANSMITTER_RATE_HZ, activity=1.0, pep_over_speech_db=0.0, overdrive_db=0.0
    )
    gain_db = 20 * np.log10(np.abs(output / signal))
    limiting_db = -20 * np.log10(amplifier_gain(np.ones(1), rated_drive())[0])
    reduction_db = gain_db[1000] - gain_db[202 * BLOCK]
    assert reduction_db == pytest.approx(MAX_ALC_DB + limiting_db, abs=0.2)


def test_the_expected_pep_is_the_measured_one() -> None:
    emission = transmit(voice_like(6.0), Transmitter())
    activity = speech_level(emission.samples, emission.rate_hz, silence_follows=True).activity
    arguments = {"activity": activity, "pep_over_speech_db": 7.0}
    expected_db = expected_pep_over_speech_db(emission.samples, emission.rate_hz, **arguments)
    signal = amplify_with_alc(emission.samples, emission.rate_hz, overdrive_db=0, **arguments)
    level = speech_level(signal, emission.rate_hz, silence_follows=True)
    pep_db = 10 * np.log10(peak_envelope_power(signal))
    assert pep_db - level.active_db == pytest.approx(expected_db, abs=0.15)
    assert expected_db < 9
