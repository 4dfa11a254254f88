"""Checks of noise: voltage deviation of band noise, and external noise by ITU-R P.372."""

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray
from scipy.fft import next_fast_len

from drill.core.conditions import Conditions, Noise
from drill.linkbudget.noise_levels import ExternalNoise, combine_noise, man_made_noise
from drill.radio import AUDIO_RATE_HZ, CENTRE_HZ
from drill.selfcheck.figures import CheckedFigure
from drill.selfcheck.signals import linear_output, silence

VD_BANDWIDTH_HZ = 200.0
"""Bandwidth to which ITU-R P.372 refers Vd."""
VD_FILTER_ORDER = 8


def check_noise() -> Iterator[CheckedFigure]:
    """Measure the Vd of Gaussian noise and of static in 200 Hz, after the receiver's filter."""
    yield CheckedFigure(
        quantity="Vd of Gaussian noise",
        value=_filtered_vd_db(None),
        low=1.0,
        high=1.1,
        unit="dB",
        source="10 lg(4/pi)",
    )
    for vd_db in (3.0, 6.0, 9.0):
        yield CheckedFigure(
            quantity=f"Vd of static, {vd_db:g} dB requested",
            value=_filtered_vd_db(vd_db),
            low=round(vd_db - 0.3, 1),
            high=round(vd_db + 0.3, 1),
            unit="dB",
            source="Vd in 200 Hz: ITU-R P.372",
        )


def _filtered_vd_db(vd_db: float | None) -> float:
    conditions = Conditions(snr_db=0.0, noise=Noise(vd_db=vd_db))
    return measured_vd_db(linear_output(conditions, silence(600)))


def measured_vd_db(audio: NDArray[np.floating]) -> float:
    """Return the Vd in 200 Hz around the middle of the passband, computed with SciPy."""
    from scipy.signal import butter, hilbert, sosfilt

    edges_hz = (CENTRE_HZ - VD_BANDWIDTH_HZ / 2, CENTRE_HZ + VD_BANDWIDTH_HZ / 2)
    narrow = butter(VD_FILTER_ORDER, edges_hz, btype="bandpass", fs=AUDIO_RATE_HZ, output="sos")
    size = next_fast_len(len(audio))
    envelope = np.abs(hilbert(sosfilt(narrow, audio.astype(np.float64)), size)[: len(audio)])
    return float(20 * np.log10(np.sqrt(np.mean(envelope**2)) / np.mean(envelope)))


def check_external_noise() -> Iterator[CheckedFigure]:
    """Calculate external noise for two published examples."""
    yield CheckedFigure(
        quantity="man-made noise, residential, 14 MHz",
        value=man_made_noise("residential", 14).median_db,
        low=40.74,
        high=40.76,
        unit="dB",
        source="ITU-R P.372: 72.5 - 27.7 lg f",
    )
    sources = (
        ExternalNoise(median_db=60.732650, upper_db=10.600910, lower_db=8.277667),
        ExternalNoise(median_db=76.8, upper_db=11.0, lower_db=6.7),
        ExternalNoise(median_db=52.0, upper_db=2.0, lower_db=2.0),
    )
    yield CheckedFigure(
        quantity="three noise sources combined at 1 MHz",
        value=combine_noise(sources).median_db,
        low=76.985526,
        high=76.987526,
        unit="dB",
        source="ITU-R P.372 section 8; example of Study Group 3's program",
    )
