"""A station hears the trainee with the same fading as the trainee hears the station."""

import numpy as np
import pytest

from drill.core.arrays import FloatArray
from drill.core.conditions import Fading
from drill.hunt.path_fading import PathFading
from drill.radio import SPLATTER_RATE_HZ
from drill.radio.band_station import BandStation

FADING = Fading(name="mid-moderate", delay_ms=1.0, spread_hz=0.5)
WORD = SPLATTER_RATE_HZ // 2


def no_loss(times_s: FloatArray) -> FloatArray:
    return np.zeros_like(times_s)


def test_the_gain_follows_the_fading_of_the_sound() -> None:
    rng = np.random.default_rng(1)
    count = 20 * SPLATTER_RATE_HZ
    white = rng.standard_normal(count) + 1j * rng.standard_normal(count)
    voice = np.convolve(white, np.ones(5) / 5, "same").astype(np.complex64)
    station = BandStation(0.0, FADING, 17, no_loss)
    station.send(SPLATTER_RATE_HZ, voice)
    path = PathFading(FADING, 17)
    heard, expected = [], []
    for start in range(2 * SPLATTER_RATE_HZ, 18 * SPLATTER_RATE_HZ, 2 * WORD):
        received = station.take(start, WORD)
        assert received is not None
        sent = voice[start - SPLATTER_RATE_HZ : start - SPLATTER_RATE_HZ + WORD]
        ratio = np.mean(np.abs(received) ** 2) / np.mean(np.abs(sent) ** 2)
        heard.append(10 * np.log10(ratio))
        expected.append(path.gain_db(start, start + WORD))
    assert np.ptp(heard) > 5
    assert expected == pytest.approx(heard, abs=0.7)


def test_the_order_of_requests_does_not_matter() -> None:
    forwards, backwards = PathFading(FADING, 3), PathFading(FADING, 3)
    words = [(start, start + WORD) for start in range(0, 8 * WORD, WORD)]
    assert [forwards.gain_db(*word) for word in words] == [
        *reversed([backwards.gain_db(*word) for word in reversed(words)])
    ]


def test_the_mean_gain_is_0_db() -> None:
    times = range(0, 600 * SPLATTER_RATE_HZ, 30 * SPLATTER_RATE_HZ)
    paths = [PathFading(Fading(delay_ms=1.0, spread_hz=1.0), seed) for seed in range(5)]
    gains = [10 ** (path.gain_db(start, start + WORD) / 10) for path in paths for start in times]
    assert np.mean(gains) == pytest.approx(1.0, abs=0.2)


def test_a_steady_path_changes_nothing() -> None:
    assert PathFading(Fading(), 1).gain_db(-100, 5000) == pytest.approx(0.0)
