"""The block filter: response, rates, shifts, and independence of the chunk size."""

from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from drill.radio import AUDIO_RATE_HZ, BASEBAND_RATE_HZ, CENTRE_HZ
from drill.radio.filters import (
    TUNING_STEP_HZ,
    USUAL_GRID,
    BandFilter,
    BlockGrid,
    Passband,
    apply_filter,
    filter_response,
    noise_bandwidth_hz,
)

VOICE = Passband(low_hz=300.0, high_hz=2700.0)
WIDE = Passband(low_hz=-350.0, high_hz=3350.0)


def modulator(rate_hz: int = AUDIO_RATE_HZ) -> BandFilter:
    return BandFilter(VOICE, rate_in=rate_hz, rate_out=BASEBAND_RATE_HZ, centre_out=CENTRE_HZ)


def one_second_tone(frequency_hz: float, rate_hz: int = AUDIO_RATE_HZ) -> NDArray[np.float32]:
    return np.cos(2 * np.pi * frequency_hz * np.arange(rate_hz) / rate_hz).astype(np.float32)


def gain_db(frequency_hz: float) -> float:
    middle = np.abs(apply_filter(modulator(), one_second_tone(frequency_hz)))[1000:-1000]
    return float(20 * np.log10(np.mean(middle) + 1e-12))


@pytest.mark.parametrize("frequency_hz", [400, 1000, 1500, 2000, 2600])
def test_the_passband_is_flat(frequency_hz: float) -> None:
    assert gain_db(frequency_hz) == pytest.approx(0, abs=0.01)


@pytest.mark.parametrize("frequency_hz", [300, 2700])
def test_the_edges_are_at_half_amplitude(frequency_hz: float) -> None:
    assert gain_db(frequency_hz) == pytest.approx(-6.02, abs=0.05)


@pytest.mark.parametrize("frequency_hz", [0, 100, 150, 220, 2780, 3000, 5000, 7900])
def test_the_stop_band_is_below_minus_70_db(frequency_hz: float) -> None:
    assert gain_db(frequency_hz) < -70


def test_noise_bandwidth_is_that_of_filtered_white_noise() -> None:
    noise = np.random.default_rng(1).standard_normal(60 * AUDIO_RATE_HZ).astype(np.float32)
    filtered = apply_filter(modulator(), noise)
    # The analytic signal has twice the power of its real part; the density is 1 / (rate / 2).
    measured_hz = np.mean(np.abs(filtered) ** 2) / 2 * AUDIO_RATE_HZ / 2
    assert noise_bandwidth_hz(VOICE) == pytest.approx(measured_hz, rel=0.01)
    assert noise_bandwidth_hz(VOICE) == pytest.approx(2400, rel=0.02)


@pytest.mark.parametrize("rate_hz", [8_000, 11_050, 16_000, 22_050, 24_000, 44_100, 48_000])
def test_a_tone_of_any_rate_becomes_the_same_baseband(rate_hz: int) -> None:
    """The result is the analytic signal, with everything else below -90 dB."""
    filtered = apply_filter(modulator(rate_hz), one_second_tone(1000, rate_hz))
    assert len(filtered) == BASEBAND_RATE_HZ
    time = np.arange(BASEBAND_RATE_HZ) / BASEBAND_RATE_HZ
    expected = np.exp(2j * np.pi * (1000 - CENTRE_HZ) * time)
    assert np.max(np.abs(filtered - expected)[400:-400]) < 10 ** (-90 / 20)


@pytest.mark.parametrize("shift_hz", [-1500.0, -25.0, 0.0, 25.0, 50.0, 425.0, 1700.0])
def test_a_shift_moves_a_tone(shift_hz: float) -> None:
    time = np.arange(4 * BASEBAND_RATE_HZ) / BASEBAND_RATE_HZ
    signal = np.exp(2j * np.pi * (1000 - CENTRE_HZ) * time).astype(np.complex64)
    shifter = BandFilter(
        WIDE,
        rate_in=BASEBAND_RATE_HZ,
        rate_out=BASEBAND_RATE_HZ,
        centre_in=CENTRE_HZ,
        centre_out=CENTRE_HZ,
        shift_hz=shift_hz,
    )
    shifted = apply_filter(shifter, signal)
    if not WIDE.low_hz < 1000 + shift_hz < WIDE.high_hz:
        assert np.max(np.abs(shifted)[400:-400]) < 1e-3
        return
    expected = np.exp(2j * np.pi * (1000 + shift_hz - CENTRE_HZ) * time)
    assert np.max(np.abs(shifted - expected)[4000:-4000]) < 10 ** (-90 / 20)


def test_baseband_becomes_the_original_audio_again() -> None:
    demodulator = BandFilter(
        WIDE, rate_in=BASEBAND_RATE_HZ, rate_out=AUDIO_RATE_HZ, centre_in=CENTRE_HZ
    )
    audio = apply_filter(demodulator, apply_filter(modulator(), one_second_tone(1000)))
    assert np.max(np.abs(audio - one_second_tone(1000))[2000:-2000]) < 1e-4


@settings(max_examples=30)
@given(
    seed=st.integers(0, 2**32 - 1),
    sizes=st.lists(st.integers(1, 5000), min_size=1, max_size=12),
)
def test_chunks_of_any_size_give_the_same_output(seed: int, sizes: list[int]) -> None:
    noise = np.random.default_rng(seed).standard_normal(sum(sizes)).astype(np.float32)
    reference = apply_filter(modulator(), noise)
    band_filter = modulator()
    edges = np.cumsum([0, *sizes])
    parts = [band_filter.process(noise[start:end]) for start, end in pairwise(edges)]
    chunked = np.concatenate([*parts, band_filter.finish()])
    assert len(chunked) == round(len(noise) / 4)
    assert np.max(np.abs(chunked - reference), initial=0) <= 1e-6 * np.max(np.abs(noise))


def test_a_finished_filter_can_be_used_again() -> None:
    band_filter = modulator()
    first, second = (apply_filter(band_filter, one_second_tone(1000)) for _ in range(2))
    assert np.array_equal(first, second)


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ({"rate_in": 16_010}, "must be multiples of 50"),
        ({"rate_in": 4000, "centre_in": 1510.0}, "10 Hz must be a multiple"),
        (
            {"rate_in": 4000, "centre_in": 1500.0, "shift_hz": 10.0},
            "10 Hz must be a multiple",
        ),
    ],
)
def test_rates_and_shifts_off_the_grid_are_rejected(
    arguments: dict[str, Any], message: str
) -> None:
    assert 10 % TUNING_STEP_HZ
    with pytest.raises(ValueError, match=message):
        BandFilter(VOICE, rate_out=BASEBAND_RATE_HZ, centre_out=CENTRE_HZ, **arguments)


@pytest.mark.parametrize(
    ("band", "message"),
    [
        (Passband(low_hz=2700, high_hz=300), "passband 2700 to 300 Hz is too narrow"),
        (Passband(low_hz=1000, high_hz=1100), "passband 1000 to 1100 Hz is too narrow"),
        (Passband(low_hz=300, high_hz=2700, transition_hz=50), "50 Hz is too narrow; use 120"),
    ],
)
def test_an_impossible_passband_is_rejected(band: Passband, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        filter_response(band)


def test_short_blocks_shift_and_filter_as_the_usual_ones_do() -> None:
    """The response is that of the same filter; its samples differ with the grid's frequencies."""
    noise = np.random.default_rng(3).standard_normal(40_000).astype(np.float32)
    usual, short = (
        apply_filter(
            BandFilter(
                VOICE,
                rate_in=AUDIO_RATE_HZ,
                rate_out=BASEBAND_RATE_HZ,
                centre_out=CENTRE_HZ,
                grid=grid,
            ),
            noise,
        )
        for grid in (USUAL_GRID, BlockGrid(block_s=0.064, hop_s=0.032))
    )
    assert np.max(np.abs(usual - short)) < 10 ** (-80 / 20) * np.max(np.abs(usual))
