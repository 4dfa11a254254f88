"""The block filter: its shape, its rates and shifts, and that pieces make no difference."""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from drill.radio import AUDIO_RATE_HZ, BASEBAND_RATE_HZ, CENTRE_HZ
from drill.radio.filters import (
    TUNING_STEP_HZ,
    BandFilter,
    Passband,
    apply_filter,
    filter_response,
    noise_bandwidth_hz,
)

BAND = Passband(low_hz=300.0, high_hz=2700.0)
WIDE = Passband(low_hz=-350.0, high_hz=3350.0)


def transmitting(rate_hz: int = AUDIO_RATE_HZ) -> BandFilter:
    return BandFilter(BAND, rate_in=rate_hz, rate_out=BASEBAND_RATE_HZ, centre_out=CENTRE_HZ)


def sine(frequency_hz: float, rate_hz: int = AUDIO_RATE_HZ) -> NDArray[np.float32]:
    return np.cos(2 * np.pi * frequency_hz * np.arange(rate_hz) / rate_hz).astype(np.float32)


def gain_db(frequency_hz: float) -> float:
    middle = np.abs(apply_filter(transmitting(), sine(frequency_hz)))[1000:-1000]
    return float(20 * np.log10(np.mean(middle) + 1e-12))


@pytest.mark.parametrize("frequency_hz", [400, 1000, 1500, 2000, 2600])
def test_the_passband_is_flat(frequency_hz: float) -> None:
    assert gain_db(frequency_hz) == pytest.approx(0, abs=0.01)


@pytest.mark.parametrize("frequency_hz", [300, 2700])
def test_the_edges_are_at_half_amplitude(frequency_hz: float) -> None:
    assert gain_db(frequency_hz) == pytest.approx(-6.02, abs=0.05)


@pytest.mark.parametrize("frequency_hz", [0, 100, 150, 220, 2780, 3000, 5000, 7900])
def test_outside_is_gone(frequency_hz: float) -> None:
    assert gain_db(frequency_hz) < -70


def test_noise_bandwidth_by_noise() -> None:
    """The bandwidth is what white noise makes of it, measured."""
    noise = np.random.default_rng(1).standard_normal(60 * AUDIO_RATE_HZ).astype(np.float32)
    passed = apply_filter(transmitting(), noise)
    # The analytic signal has twice the power of its real part; density is 1 / (rate / 2).
    measured = np.mean(np.abs(passed) ** 2) / 2 * AUDIO_RATE_HZ / 2
    assert noise_bandwidth_hz(BAND) == pytest.approx(measured, rel=0.01)
    assert noise_bandwidth_hz(BAND) == pytest.approx(2400, rel=0.02)


@pytest.mark.parametrize("rate_hz", [8_000, 11_050, 16_000, 22_050, 24_000, 44_100, 48_000])
def test_a_tone_is_the_same_tone_at_any_rate(rate_hz: int) -> None:
    """Analytic, at its place, spurious below -90 dB."""
    passed = apply_filter(transmitting(rate_hz), sine(1000, rate_hz))
    assert len(passed) == BASEBAND_RATE_HZ
    wanted = np.exp(2j * np.pi * (1000 - CENTRE_HZ) * np.arange(BASEBAND_RATE_HZ) / BASEBAND_RATE_HZ)
    assert np.max(np.abs(passed - wanted)[400:-400]) < 10 ** (-90 / 20)


@pytest.mark.parametrize("shift_hz", [-1500.0, -25.0, 0.0, 25.0, 50.0, 425.0, 1700.0])
def test_a_shift_moves_a_tone(shift_hz: float) -> None:
    at = np.arange(4 * BASEBAND_RATE_HZ) / BASEBAND_RATE_HZ
    signal = np.exp(2j * np.pi * (1000 - CENTRE_HZ) * at).astype(np.complex64)
    mover = BandFilter(
        WIDE,
        rate_in=BASEBAND_RATE_HZ,
        rate_out=BASEBAND_RATE_HZ,
        centre_in=CENTRE_HZ,
        centre_out=CENTRE_HZ,
        shift_hz=shift_hz,
    )
    moved = apply_filter(mover, signal)
    if not WIDE.low_hz < 1000 + shift_hz < WIDE.high_hz:
        assert np.max(np.abs(moved)[400:-400]) < 1e-3
        return
    wanted = np.exp(2j * np.pi * (1000 + shift_hz - CENTRE_HZ) * at)
    assert np.max(np.abs(moved - wanted)[4000:-4000]) < 10 ** (-90 / 20)


def test_a_real_output_is_the_real_part() -> None:
    back = BandFilter(WIDE, rate_in=BASEBAND_RATE_HZ, rate_out=AUDIO_RATE_HZ, centre_in=CENTRE_HZ)
    sound = apply_filter(back, apply_filter(transmitting(), sine(1000)))
    assert np.max(np.abs(sound - sine(1000))[2000:-2000]) < 1e-4


@settings(deadline=None, max_examples=30)
@given(
    seed=st.integers(0, 2**32 - 1),
    pieces=st.lists(st.integers(1, 5000), min_size=1, max_size=12),
)
def test_pieces_of_any_size_give_what_the_whole_gives(seed: int, pieces: list[int]) -> None:
    noise = np.random.default_rng(seed).standard_normal(sum(pieces)).astype(np.float32)
    reference = apply_filter(transmitting(), noise)
    stage = transmitting()
    edges = np.cumsum([0, *pieces])
    parts = [stage.process(noise[a:b]) for a, b in pairwise(edges)]
    joined = np.concatenate([*parts, stage.finish()])
    assert len(joined) == round(len(noise) / 4)
    assert np.max(np.abs(joined - reference), initial=0) <= 1e-6 * np.max(np.abs(noise))


def test_a_finished_filter_starts_afresh() -> None:
    stage = transmitting()
    assert np.array_equal(apply_filter(stage, sine(1000)), apply_filter(stage, sine(1000)))


@pytest.mark.parametrize(
    ("choices", "message"),
    [
        ({"rate_in": 16_010}, "multiples of 50"),
        ({"rate_in": 4000, "centre_in": 1510.0}, "no multiple of 25"),
        ({"rate_in": 4000, "centre_in": 1500.0, "shift_hz": 10.0}, "no multiple of 25"),
    ],
)
def test_what_does_not_fit_the_blocks_is_refused(choices: dict, message: str) -> None:  # type: ignore[type-arg]
    assert 10 % TUNING_STEP_HZ
    with pytest.raises(ValueError, match=message):
        BandFilter(BAND, rate_out=BASEBAND_RATE_HZ, centre_out=CENTRE_HZ, **choices)


@pytest.mark.parametrize(
    ("band", "message"),
    [
        (Passband(low_hz=2700, high_hz=300), "too narrow"),
        (Passband(low_hz=1000, high_hz=1100), "too narrow"),
        (Passband(low_hz=300, high_hz=2700, transition_hz=50), "too steep"),
    ],
)
def test_an_impossible_passband_is_refused(band: Passband, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        filter_response(band)
