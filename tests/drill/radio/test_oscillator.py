"""The receiver's oscillator: phase and frequency while it rests and while it glides."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from drill.core.arrays import FloatArray
from drill.radio.filters import ComplexArray
from drill.radio.oscillator import GLIDE_SAMPLES, LocalOscillator, phasor

RATE_HZ = 16_000


def frequencies_hz(phases: ComplexArray) -> FloatArray:
    turned = phases[1:] * phases[:-1].conj()
    return np.asarray(np.angle(turned) * RATE_HZ / (2 * np.pi))


def test_a_phasor_is_the_complex_exponential() -> None:
    expected = np.exp(2j * np.pi * 123.4 * np.arange(1000) / RATE_HZ)
    assert np.allclose(phasor(123.4, RATE_HZ, 1000), expected, atol=1e-5)


def test_a_carrier_on_the_dial_stands_still() -> None:
    assert np.allclose(LocalOscillator(7000.0, RATE_HZ).bring_down(7000.0, 12_345, 800), 1)


@given(
    turns=st.lists(
        st.tuples(st.integers(0, 20_000), st.floats(0, 150_000)), min_size=1, max_size=6
    ),
    start=st.integers(30_000, 500_000_000),
)
def test_at_rest_the_phase_does_not_depend_on_earlier_turns(
    turns: list[tuple[int, float]], start: int
) -> None:
    turned, still = LocalOscillator(0.0, RATE_HZ), LocalOscillator(10_000.0, RATE_HZ)
    for at, dial_hz in sorted(turns):
        turned.turn(at, dial_hz)
    turned.turn(25_000, 10_000.0)
    assert turned.dial_hz == 10_000.0
    expected = still.bring_down(12_345.6, start, 100)
    assert np.allclose(turned.bring_down(12_345.6, start, 100), expected, atol=1e-4)


@given(step_hz=st.floats(-5000, 5000), at=st.integers(0, 10**6))
def test_a_glide_leads_smoothly_from_one_frequency_to_the_other(step_hz: float, at: int) -> None:
    oscillator = LocalOscillator(20_000.0, RATE_HZ)
    oscillator.turn(at, 20_000.0 + step_hz)
    measured = frequencies_hz(oscillator.bring_down(20_000.0, at - 50, GLIDE_SAMPLES + 100))
    assert np.allclose(measured[:49], 0, atol=0.5)
    assert np.allclose(measured[-49:], -step_hz, atol=0.5)
    straight = -step_hz * np.clip((np.arange(-49.5, GLIDE_SAMPLES + 49) / GLIDE_SAMPLES), 0, 1)
    assert np.max(np.abs(measured - straight[: len(measured)])) < 24.5


def test_a_turn_waits_for_the_glide_in_progress() -> None:
    oscillator = LocalOscillator(0.0, RATE_HZ)
    assert oscillator.turn(1000, 500.0) == 1000
    assert oscillator.turn(1100, 700.0) == 1000 + GLIDE_SAMPLES
    assert oscillator.turn(1200, 900.0) == 1000 + GLIDE_SAMPLES
    assert oscillator.nearest_offset_hz(700.0, 0, 10**6) == 200


def test_the_nearest_offset_covers_a_whole_glide() -> None:
    oscillator = LocalOscillator(0.0, RATE_HZ)
    oscillator.turn(1000, 8000.0)
    assert oscillator.nearest_offset_hz(9000.0, 0, 1000) == 9000
    assert oscillator.nearest_offset_hz(9000.0, 0, 1001) == 1000
    assert oscillator.nearest_offset_hz(9000.0, 1000 + GLIDE_SAMPLES, 10) == 1000
    assert oscillator.nearest_offset_hz(0.0, 1000 + GLIDE_SAMPLES, 10) == 8000


def test_forgetting_keeps_the_present_frequency() -> None:
    oscillator = LocalOscillator(0.0, RATE_HZ)
    for number in range(5):
        oscillator.turn(1000 * number, 100.0 * number)
    before = oscillator.bring_down(50.0, 4100, 5000)
    oscillator.forget_before(4100)
    assert np.array_equal(oscillator.bring_down(50.0, 4100, 5000), before)
