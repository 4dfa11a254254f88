import numpy as np
import pytest
from scipy.signal import firwin, kaiserord

from drill.radio import AUDIO_RATE_HZ
from drill.radio.filter_design import kaiser_low_pass


@pytest.mark.parametrize("cutoff_hz", [150.0, 1050.0, 1300.0, 3000.0])
@pytest.mark.parametrize("transition_hz", [120.0, 150.0, 400.0])
@pytest.mark.parametrize("stop_band_db", [60.0, 75.0])
def test_design_equals_that_of_scipy(
    cutoff_hz: float, transition_hz: float, stop_band_db: float
) -> None:
    """Source: scipy.signal.kaiserord and scipy.signal.firwin."""
    count, beta = kaiserord(stop_band_db, transition_hz / (AUDIO_RATE_HZ / 2))
    expected = firwin(count | 1, cutoff_hz, window=("kaiser", beta), fs=AUDIO_RATE_HZ)
    taps = kaiser_low_pass(cutoff_hz, transition_hz, AUDIO_RATE_HZ, stop_band_db=stop_band_db)
    assert taps.shape == expected.shape
    np.testing.assert_allclose(taps, expected, rtol=0, atol=1e-16)
