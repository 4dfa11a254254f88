"""Level-controlled gain: chunks, look-ahead, and a neutral law."""

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from numpy.typing import NDArray

from drill.radio import AUDIO_RATE_HZ
from drill.radio.gain_control import GainControl, GainTiming
from drill.radio.receiver import AGC_TARGET_DB, receiver_agc


def whole_output(control: GainControl, signal: NDArray[np.float32]) -> NDArray[np.float32]:
    return np.concatenate([control.process(signal), control.finish()])


@settings(max_examples=40)
@given(
    signal=arrays(np.float32, st.integers(0, 4000), elements=st.floats(-10, 10, width=32)),
    chunk=st.integers(1, 700),
)
def test_chunks_of_any_size_give_the_same_output(signal: NDArray[np.float32], chunk: int) -> None:
    reference = whole_output(receiver_agc("medium", 0.0), signal)
    control = receiver_agc("medium", 0.0)
    parts = [control.process(signal[at : at + chunk]) for at in range(0, len(signal), chunk)]
    chunked = np.concatenate([*parts, control.finish()])
    assert len(chunked) == len(reference) == len(signal)
    assert np.allclose(chunked, reference, rtol=1e-5, atol=1e-7)


@given(signal=arrays(np.float32, 2000, elements=st.floats(-100, 100, width=32)))
def test_no_peak_exceeds_the_target(signal: NDArray[np.float32]) -> None:
    """The look-ahead brings the gain down before a peak arrives."""
    output = whole_output(receiver_agc("medium", 0.0), signal)
    assert np.max(np.abs(output)) <= 10 ** (AGC_TARGET_DB / 20) * 1.001


def test_a_law_of_0_db_changes_nothing() -> None:
    timing = GainTiming(hold_s=0.1, decay_db_per_s=20)
    neutral = GainControl(np.zeros_like, timing, AUDIO_RATE_HZ)
    signal = np.random.default_rng(1).standard_normal(5000).astype(np.float32)
    assert np.array_equal(whole_output(neutral, signal), signal)
