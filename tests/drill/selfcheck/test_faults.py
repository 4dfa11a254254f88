"""The checks find faults: each test builds a fault into the channel and expects a failed figure."""

import numpy as np
import pytest

from drill.radio import fading, fading_taps, filters, gain_control, noise
from drill.radio.neighbours import tune
from drill.selfcheck import transmitter
from drill.selfcheck.checks import StageCheck
from drill.selfcheck.fading import check_delay, check_tap
from drill.selfcheck.noise import check_noise
from drill.selfcheck.receiver import check_agc
from drill.selfcheck.snr import check_snr
from drill.selfcheck.transmitter import check_mistuning, check_processing


def failed_quantities(check: StageCheck) -> str:
    return "; ".join(figure.quantity for figure in check() if not figure.passed)


def test_taps_shaped_by_the_spectrum_instead_of_its_root(monkeypatch: pytest.MonkeyPatch) -> None:
    """The most common fault of channel simulators makes every spread too small by sqrt(2)."""
    correct = fading_taps.FadingTap.__init__

    def too_narrow(tap: fading_taps.FadingTap, spread_hz: float, *rest: object) -> None:
        correct(tap, spread_hz / np.sqrt(2), *rest)  # type: ignore[arg-type]

    monkeypatch.setattr(fading_taps.FadingTap, "__init__", too_narrow)
    assert "Doppler spread" in failed_quantities(check_tap)


def test_real_instead_of_complex_taps(monkeypatch: pytest.MonkeyPatch) -> None:
    """Power and spread look right, but the fades are not Rayleigh distributed."""
    correct = fading_taps.FadingTap.take

    def real_part(tap: fading_taps.FadingTap, count: int) -> filters.ComplexArray:
        return np.asarray(np.sqrt(2) * correct(tap, count).real, np.complex64)

    monkeypatch.setattr(fading_taps.FadingTap, "take", real_part)
    assert "Rayleigh" in failed_quantities(check_tap)


@pytest.mark.slow
def test_noise_that_is_0_15_db_too_strong(monkeypatch: pytest.MonkeyPatch) -> None:
    correct = noise.BandNoise.take

    def too_strong(band_noise: noise.BandNoise, count: int) -> filters.ComplexArray:
        factor = np.float32(10 ** (0.15 / 20))
        return np.asarray(correct(band_noise, count) * factor, np.complex64)

    monkeypatch.setattr(noise.BandNoise, "take", too_strong)
    assert "SNR of -3 dB, receiver usual" in failed_quantities(check_snr)


def test_delays_rounded_to_whole_samples(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(fading, "_fractional_delay_filter", lambda shift: None)
    assert "1.3 ms" in failed_quantities(check_delay)


def test_a_processor_that_raises_the_peaks(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(
        "drill.radio.transmitter.peak_envelope_power",
        lambda signal: float(np.mean(np.abs(signal))),
    )
    assert "PEP" in failed_quantities(check_processing)


def test_mistuning_rounded_to_the_tuning_step(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(
        transmitter, "tune", lambda emission, hz: tune(emission, 25.0 * round(hz / 25))
    )
    assert "-37.3 Hz" in failed_quantities(check_mistuning)


def test_an_agc_with_a_slow_attack(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(gain_control, "CONTROL_BLOCK_S", 0.02)
    assert "attack" in failed_quantities(check_agc)


@pytest.mark.slow
def test_static_that_is_gaussian(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(noise, "static_depth", lambda vd_db: 0.0)
    assert "Vd of static, 6 dB requested" in failed_quantities(check_noise)
