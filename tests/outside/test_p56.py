"""Active speech level against the ITU's own program.

The figures are what `actlev` of the ITU-T software tool library (G.191, sv-p56, of 2023) prints for
signals that anybody can make again: 16 kHz, 8 s, 16 bit. Tolerance 0.1 dB: the program interpolates
between thresholds 6 dB apart, ours solves for the threshold.
"""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from drill.radio.levels import noise_density, power_from_db, speech_level

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


def sixteen_bit(signal: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.asarray(np.round(32768 * signal) / 32768)


@pytest.mark.parametrize("name", ACTLEV)
def test_level_is_that_of_the_itu_program(name: str) -> None:
    signal, level_db, activity = ACTLEV[name]
    measured = speech_level(sixteen_bit(signal), RATE_HZ)
    assert measured.active_db == pytest.approx(level_db, abs=0.1)
    assert 100 * measured.activity == pytest.approx(activity, abs=0.3)


def test_the_mean_square_would_be_wrong_where_there_are_pauses() -> None:
    """Power over the pauses too lies 4 dB lower here (-21.072 dB): the check can fail."""
    signal, level_db, _ = ACTLEV["half a second in two"]
    assert 10 * np.log10(np.mean(signal**2)) < level_db - 4


@pytest.mark.parametrize("rate_hz", [8_000, 12_000, 22_050, 24_000])
def test_the_rate_does_not_matter(rate_hz: int) -> None:
    time = np.arange(8 * rate_hz) / rate_hz
    signal = 0.25 * np.sin(2 * np.pi * 1000 * time) * (time % 1 < 0.5)
    assert speech_level(signal, rate_hz).active_db == pytest.approx(-16.999, abs=0.1)


@given(gain_db=st.floats(-80, 40))
def test_gain_moves_the_level_and_nothing_else(gain_db: float) -> None:
    signal = ACTLEV["half a second in two"][0][: 4 * RATE_HZ]
    before = speech_level(signal, RATE_HZ)
    after = speech_level(signal * 10 ** (gain_db / 20), RATE_HZ)
    assert after.active_db - before.active_db == pytest.approx(gain_db, abs=1e-6)
    assert after.activity == before.activity


@pytest.mark.parametrize("padding_s", [0.5, 3.0, 20.0])
def test_silence_around_the_speech_does_not_count(padding_s: float) -> None:
    signal = ACTLEV["half a second in each second"][0]
    padded = np.pad(signal, round(padding_s * RATE_HZ))
    level = speech_level(padded, RATE_HZ).active_db
    assert level == pytest.approx(speech_level(signal, RATE_HZ).active_db, abs=0.1)


def test_a_level_is_never_above_the_peak() -> None:
    generator = np.random.default_rng(1)
    for _ in range(20):
        burst = np.zeros(RATE_HZ)
        start = int(generator.integers(0, RATE_HZ - 2000))
        burst[start : start + 2000] = generator.uniform(-0.3, 0.3, 2000)
        assert speech_level(burst, RATE_HZ).active_db <= 20 * np.log10(np.max(np.abs(burst)))


@pytest.mark.parametrize("sound", [np.zeros(8000), np.array([]), np.full(8000, np.nan)])
def test_no_speech_is_an_error_and_no_number(sound: NDArray[np.float64]) -> None:
    with pytest.raises(ValueError, match="no speech"):
        speech_level(sound, RATE_HZ)


def test_three_kilohertz_are_34_771_db_above_one_hertz() -> None:
    """Source: 10 lg 3000 = 34.771."""
    density_db = 10 * np.log10(noise_density(snr_db=6.0, active_db=-20.0))
    assert density_db == pytest.approx(-26.0 - 34.771, abs=1e-3)
    assert power_from_db(-3.0103) == pytest.approx(0.5, rel=1e-5)
