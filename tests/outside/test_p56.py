"""Active speech level compared with the ITU's own program.

The figures are the output of `actlev` of the ITU-T software tool library (G.191, sv-p56, of 2023)
for signals that anyone can generate again: 16 kHz, 8 s, 16 bit. The tolerance is 0.1 dB: the
program interpolates between thresholds 6 dB apart, while speech_level solves for the threshold.
"""

import numpy as np
import pytest
from numpy.typing import NDArray

from drill.radio.levels import speech_level

RATE_HZ = 16_000
TIME = np.arange(8 * RATE_HZ) / RATE_HZ
SINE = 0.25 * np.sin(2 * np.pi * 1000 * TIME)

# name: (signal, active level in dB, activity in per cent), as printed by actlev
ACTLEV = {
    "sine": (SINE, -15.039, 99.706),
    "half a second in each second": (SINE * (TIME % 1 < 0.5), -16.999, 78.298),
    "half a second in two": (SINE * (TIME % 2 < 0.5), -16.999, 39.149),
    "gaps shorter than the hangover": (SINE * (TIME % 0.3 < 0.15), -17.998, 99.774),
    "noise": (
        0.1 * np.random.RandomState(12345).standard_normal(8 * RATE_HZ),
        -19.981,
        99.698,
    ),
}


def rounded_to_16_bit(signal: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.asarray(np.round(32768 * signal) / 32768)


@pytest.mark.parametrize("name", ACTLEV)
def test_level_and_activity_equal_those_of_the_itu_program(name: str) -> None:
    signal, level_db, activity = ACTLEV[name]
    measured = speech_level(rounded_to_16_bit(signal), RATE_HZ)
    assert measured.active_db == pytest.approx(level_db, abs=0.1)
    assert 100 * measured.activity == pytest.approx(activity, abs=0.3)


def test_the_mean_square_would_fail_this_comparison() -> None:
    """With pauses included, the level is 4 dB too low here (-21.072 dB)."""
    signal, level_db, _ = ACTLEV["half a second in two"]
    assert 10 * np.log10(np.mean(signal**2)) < level_db - 4


@pytest.mark.parametrize("rate_hz", [8_000, 12_000, 22_050, 24_000])
def test_the_level_does_not_depend_on_the_sampling_rate(rate_hz: int) -> None:
    time = np.arange(8 * rate_hz) / rate_hz
    signal = 0.25 * np.sin(2 * np.pi * 1000 * time) * (time % 1 < 0.5)
    assert speech_level(signal, rate_hz).active_db == pytest.approx(-16.999, abs=0.1)
