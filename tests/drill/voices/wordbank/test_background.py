"""Background noise and mains hum are measured in a recording without speech."""

import numpy as np
import pytest

from drill.core.errors import UserError
from drill.voices.wordbank.background import NoiseRating, measure_background
from tests.drill.word_recordings import white_noise


@pytest.mark.parametrize(
    ("level_db", "rating"),
    [(-70, NoiseRating.QUIET), (-50, NoiseRating.ACCEPTABLE), (-35, NoiseRating.NOISY)],
)
def test_the_level_is_measured(level_db: float, rating: NoiseRating) -> None:
    noise = measure_background(white_noise(2, level_db), 16_000)
    assert noise.level_db == pytest.approx(level_db, abs=1)
    assert noise.hum_hz == 0
    assert noise.rating is rating


@pytest.mark.parametrize("mains_hz", [50.0, 60.0])
def test_hum_is_distinguished_from_noise(mains_hz: float) -> None:
    """Three harmonics of 0.005, 0.004, 0.003: 10 lg(sum of squares / 2) is -46 dB."""
    time = np.arange(32_000) / 16_000
    harmonics = [(1, 0.005), (2, 0.004), (3, 0.003)]
    hum = sum(a * np.sin(2 * np.pi * n * mains_hz * time) for n, a in harmonics)
    noise = measure_background(white_noise(2, -70) + np.asarray(hum), 16_000)
    assert noise.hum_hz == mains_hz
    assert noise.hum_db == pytest.approx(-46.0, abs=1)


def test_a_recording_that_is_too_short_is_refused() -> None:
    with pytest.raises(UserError, match="half a second"):
        measure_background(white_noise(0.1, -50), 16_000)
