"""Fading as a stage of the channel; tests/outside/test_f1487.py checks its statistics."""

import numpy as np
import pytest
from numpy.typing import NDArray

from drill.core.conditions import Fading
from drill.radio.fading import WattersonFading


def faded(signal: NDArray[np.complex64], fading: Fading, seed: int) -> NDArray[np.complex64]:
    stage = WattersonFading(fading, np.random.default_rng(seed))
    return np.concatenate([stage.process(signal), stage.finish()])


def test_a_steady_path_changes_nothing() -> None:
    signal = np.exp(1j * np.arange(1000.0)).astype(np.complex64)
    assert np.array_equal(faded(signal, Fading(), 0), signal)


@pytest.mark.parametrize("chunk", [1, 7, 160, 4096])
def test_chunks_of_any_size_give_the_same_output(chunk: int) -> None:
    signal = np.exp(1j * np.arange(6000.0)).astype(np.complex64)
    fading = Fading(delay_ms=3.3, spread_hz=2.0)
    stage = WattersonFading(fading, np.random.default_rng(4))
    parts = [stage.process(signal[at : at + chunk]) for at in range(0, len(signal), chunk)]
    chunked = np.concatenate([*parts, stage.finish()])
    assert len(chunked) == len(signal)
    assert np.max(np.abs(chunked - faded(signal, fading, 4))) < 1e-6
