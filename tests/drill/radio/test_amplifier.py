"""The transmitter's final amplifier: third-order products of two tones, and its gain."""

import numpy as np
import pytest
from scipy.signal.windows import blackmanharris

from drill.core.conditions import Transmitter
from drill.core.models import Clip
from drill.radio import CENTRE_HZ
from drill.radio.amplifier import (
    THIRD_ORDER_DB,
    amplifier_drive,
    amplifier_gain,
    rated_drive,
    third_order_db,
)
from drill.radio.transmitter import transmit

RATE_HZ = 16_000
TONES_HZ = (1250.0, 1750.0)


def two_tone_products_db(transmitter: Transmitter) -> list[float]:
    """Return the third-order products of an emission relative to its PEP, measured with SciPy."""
    time = np.arange(6 * RATE_HZ) / RATE_HZ
    first, second = (np.cos(2 * np.pi * tone * time) for tone in TONES_HZ)
    samples = (0.1 * (first + second)).astype(np.float32)
    emission = transmit(Clip(samples=samples, rate_hz=RATE_HZ), transmitter)
    middle = emission.samples[emission.rate_hz : 5 * emission.rate_hz].astype(np.complex128)
    window = blackmanharris(len(middle), sym=False)
    spectrum = np.abs(np.fft.fft(middle * window)) / np.sum(window)
    hertz_per_bin = emission.rate_hz / len(middle)
    peak = np.max(np.abs(middle))
    return [
        float(20 * np.log10(spectrum[round((audio_hz - CENTRE_HZ) / hertz_per_bin)] / peak))
        for audio_hz in (750.0, 2250.0)
    ]


@pytest.mark.parametrize(
    "transmitter",
    [Transmitter(), Transmitter(microphone="bright", low_hz=200), Transmitter(overdrive_db=6)],
)
def test_every_transmitter_has_the_stated_third_order_products(transmitter: Transmitter) -> None:
    stated_db = third_order_db(amplifier_drive(transmitter.overdrive_db))
    if transmitter.overdrive_db == 0:
        assert stated_db == pytest.approx(THIRD_ORDER_DB, abs=0.01)
    # A microphone that changes the tones by different amounts lowers one product and raises one.
    measured_db = np.mean(two_tone_products_db(transmitter))
    assert measured_db == pytest.approx(
        stated_db, abs=1.0 if transmitter.microphone != "plain" else 0.3
    )


def test_the_rated_level_is_that_of_common_transmitters() -> None:
    """Third-order products lie 25 to 35 dB below PEP: common practice, no source."""
    assert -35 <= third_order_db(rated_drive()) <= -25


def test_products_grow_with_the_drive() -> None:
    products_db = [third_order_db(amplifier_drive(overdrive_db)) for overdrive_db in (0, 6, 12, 20)]
    assert products_db == sorted(products_db)
    assert products_db[-1] < -10


def test_the_gain_is_that_of_rapps_model() -> None:
    """Gain 1 for weak signals; an output of 2^(-1/4) at the limit, for p = 2."""
    gain = amplifier_gain(np.array([0.0, 1e-6, 1.0]), 1.0)
    assert gain == pytest.approx([1.0, 1.0, 2**-0.25])
    output = np.sqrt(1e8) * amplifier_gain(np.array([1e8]), 1.0)
    assert output == pytest.approx(1.0, rel=1e-4)
