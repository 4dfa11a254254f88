"""The self-check passes here, and finds what is wrong when something is.

Sources of the limits stand beside them in drill.selfcheck.checks.
"""

from collections.abc import Callable, Iterator

import numpy as np
import pytest

from drill.cli import main
from drill.radio import fading, fading_taps, filters, gain_control, neighbours, noise, transmitter
from drill.selfcheck import checks


@pytest.mark.parametrize("check", checks.CHECKS, ids=lambda check: check.__name__)
def test_every_figure_is_within_its_limits(check: Callable[[], Iterator[checks.Row]]) -> None:
    rows = list(check())
    assert rows
    assert [row for row in rows if not row.passed] == []


def failures(check: Callable[[], Iterator[checks.Row]]) -> str:
    return "; ".join(row.what for row in check() if not row.passed)


def test_taps_shaped_by_the_spectrum_in_place_of_its_root_are_found(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """The commonest fault of channel simulators: every spread too small by the root of two."""
    made = fading_taps.FadingTap.__init__

    def narrow(self: fading_taps.FadingTap, spread_hz: float, *rest: object) -> None:
        made(self, spread_hz / np.sqrt(2), *rest)  # type: ignore[arg-type]

    monkeypatch.setattr(fading_taps.FadingTap, "__init__", narrow)
    assert "Doppler spread" in failures(checks.check_fading)


def test_taps_without_their_second_half_are_found(monkeypatch: pytest.MonkeyPatch) -> None:
    """Real in place of complex Gaussian taps: power and spread look right, the fades do not."""
    take = fading_taps.FadingTap.take

    def real(self: fading_taps.FadingTap, count: int) -> filters.ComplexArray:
        return np.asarray(np.sqrt(2) * take(self, count).real, np.complex64)

    monkeypatch.setattr(fading_taps.FadingTap, "take", real)
    assert "Rayleigh" in failures(checks.check_fading)


def test_noise_of_the_wrong_strength_is_found(monkeypatch: pytest.MonkeyPatch) -> None:
    take = noise.BandNoise.take

    def strong(self: noise.BandNoise, count: int) -> filters.ComplexArray:
        return np.asarray(take(self, count) * np.float32(10 ** (0.15 / 20)), np.complex64)

    monkeypatch.setattr(noise.BandNoise, "take", strong)
    assert "SNR of -3 dB, receiver usual" in failures(checks.check_snr)


def test_a_delay_of_whole_samples_only_is_found(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(fading, "_fractional_delay_filter", lambda shift: None)
    assert "1.3 ms" in failures(checks.check_delay)


def test_a_processor_that_raises_the_peaks_is_found(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(transmitter, "peak_envelope_power", lambda signal, _: float(np.mean(np.abs(signal))))
    assert "PEP" in failures(checks.check_transmitter)


def test_mistuning_by_steps_only_is_found(monkeypatch: pytest.MonkeyPatch) -> None:
    made = neighbours.tune
    monkeypatch.setattr(checks, "tune", lambda emission, hz: made(emission, 25.0 * round(hz / 25)))
    assert "-37.3 Hz" in failures(checks.check_transmitter)


def test_a_slow_agc_is_found(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(gain_control, "CONTROL_BLOCK_S", 0.02)
    assert "attack" in failures(checks.check_agc)


def test_static_that_is_gaussian_is_found(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(noise, "static_depth", lambda vd_db: 0.0)
    assert "static asked for 6 dB" in failures(checks.check_noise)


def test_the_command_prints_limit_and_figure(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(checks, "CHECKS", (checks.check_power, checks.check_delay))
    assert main(["selfcheck"]) == 0
    out = capsys.readouterr().out
    assert "-6.990   -6.9907 to -6.9887" in out
    assert "6 of 6 figures are within their limits." in out
    monkeypatch.setattr(fading, "_fractional_delay_filter", lambda shift: None)
    assert main(["selfcheck"]) == 1
    assert "FAILED second path, delay of 1.3 ms" in capsys.readouterr().out
