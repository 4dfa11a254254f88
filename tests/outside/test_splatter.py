"""Splatter of a neighbour compared with a reference that is computed 64 kHz wide.

The reference starts from the voice after the sideband filter and the ALC (the product's signal at
TRANSMITTER_RATE_HZ, which contains all of it), interpolates it to 64 kHz with SciPy, applies Rapp's
formula in double precision, shifts the result by the neighbour's offset and measures the part
within the receiver's passband.
"""

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.signal import resample, welch

from drill.core.conditions import Conditions, Neighbour, Transmitter
from drill.core.models import Clip
from drill.radio import AUDIO_RATE_HZ, BASEBAND_RATE_HZ, level_control
from drill.radio.amplifier import amplifier_drive
from drill.radio.channel import Channel, neighbour_emissions
from drill.radio.transmitter import transmit
from tests.drill.radio.sounds import voice_like

REFERENCE_RATE_HZ = 64_000
OFFSETS_HZ = (-6000, -5000, -4000, -3000, -2200, 2200, 3000, 4000, 5000, 6000)
PASSBAND_HZ = (250.0, 2750.0)
VOICE = voice_like(6.0, seed=3)


@pytest.fixture(scope="module")
def linear_voice() -> NDArray[np.complex128]:
    """Return the voice at the input of the amplifier, 64 kHz wide, with peaks of 1."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(level_control, "amplifier_gain", lambda power, _: np.ones_like(power))
        emission = transmit(VOICE, Transmitter())
    samples = emission.samples.astype(np.complex128)
    ratio = REFERENCE_RATE_HZ // emission.rate_hz
    wide = np.asarray(resample(samples, ratio * len(samples)))
    return np.asarray(wide / np.max(np.abs(wide)))


def reference_density(
    linear_voice: NDArray[np.complex128], offset_hz: float, overdrive_db: float
) -> float:
    """Return the mean density in the passband, relative to that of the voice on frequency."""
    drive = amplifier_drive(overdrive_db)
    limited = linear_voice / (1 + np.abs(drive * linear_voice) ** 4) ** 0.25
    frequency, power = welch(limited, REFERENCE_RATE_HZ, nperseg=4096, return_onesided=False)

    def mean_density(shift_hz: float) -> float:
        audio_hz = frequency + 1500 + shift_hz
        inside = (audio_hz > PASSBAND_HZ[0]) & (audio_hz < PASSBAND_HZ[1])
        return float(np.mean(power[inside]))

    return 10 * float(np.log10(mean_density(offset_hz) / mean_density(0.0)))


def heard_density_db(clip: Clip, offset_hz: float, overdrive_db: float) -> float:
    """Return the mean density in the passband after the receiver's filter, in dB."""
    neighbour = Neighbour(offset_hz=offset_hz, snr_db=40.0, overdrive_db=overdrive_db)
    conditions = Conditions(snr_db=None, neighbours=(neighbour,))
    channel = Channel(conditions, 1, neighbour_emissions(conditions, [clip]), linear=True)
    silence = np.zeros(20 * BASEBAND_RATE_HZ, np.complex64)
    audio = np.concatenate([channel.process(silence), channel.finish()])
    frequency, power = welch(audio, AUDIO_RATE_HZ, nperseg=1024)
    return 10 * float(
        np.log10(np.mean(power[(frequency > PASSBAND_HZ[0]) & (frequency < PASSBAND_HZ[1])]))
    )


@pytest.mark.parametrize("overdrive_db", [0.0, 6.0, 12.0, 20.0])
def test_splatter_equals_the_wide_reference(
    linear_voice: NDArray[np.complex128], overdrive_db: float
) -> None:
    on_frequency_db = heard_density_db(VOICE, 0.0, overdrive_db)
    for offset_hz in OFFSETS_HZ:
        heard_db = heard_density_db(VOICE, offset_hz, overdrive_db) - on_frequency_db
        expected_db = reference_density(linear_voice, offset_hz, overdrive_db)
        # Below -100 dB, float32 and the filter's stop band limit the accuracy.
        if expected_db > -100:
            assert heard_db == pytest.approx(expected_db, abs=2.0), offset_hz
