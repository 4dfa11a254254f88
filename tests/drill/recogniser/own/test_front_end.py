"""The front end: shapes, invariances and the mel bands."""

import numpy as np
import pytest

from drill.recogniser.own.front_end import BANDS, RATE_HZ, band_weights, log_mel, mel


def _noise(seconds: float, rate_hz: int = RATE_HZ) -> np.ndarray:
    return np.random.default_rng(1).standard_normal(round(seconds * rate_hz))


def test_a_second_has_a_frame_every_ten_milliseconds_of_whole_windows() -> None:
    features = log_mel(_noise(1.0), RATE_HZ)
    assert features.shape == (98, BANDS)
    assert features.dtype == np.float32


@pytest.mark.parametrize("seconds", [0.0, 0.02])
def test_less_than_a_window_has_no_frames(seconds: float) -> None:
    assert log_mel(_noise(seconds), RATE_HZ).shape == (0, BANDS)


def test_level_does_not_matter() -> None:
    sound = _noise(0.5)
    np.testing.assert_allclose(log_mel(sound, RATE_HZ), log_mel(sound * 1e-3, RATE_HZ), atol=1e-5)


def test_a_steady_filter_is_removed() -> None:
    """A filter of two taps changes each band's level; its mean over time is subtracted."""
    sound = _noise(2.0)
    filtered = np.convolve(sound, [1.0, 0.5])[: len(sound)]
    change = log_mel(filtered, RATE_HZ) - log_mel(sound, RATE_HZ)
    assert np.abs(change.mean(0)).max() < 1e-4
    assert np.abs(change).mean() < 0.1


def test_other_rates_give_nearly_the_same_features() -> None:
    seconds = np.arange(2 * 48_000) / 48_000
    sound = np.sin(2 * np.pi * 700 * seconds) * (1 + np.sin(2 * np.pi * 3 * seconds))
    low = log_mel(sound[::6], RATE_HZ)
    np.testing.assert_allclose(log_mel(sound, 48_000)[2:-2, 14:18], low[2:-2, 14:18], atol=0.1)


def test_a_tone_is_strongest_in_the_band_around_it() -> None:
    seconds = np.arange(RATE_HZ) / RATE_HZ
    tone = np.sin(2 * np.pi * 1000 * seconds) * (seconds > 0.5)
    low, high = mel(np.asarray([200.0, 3000.0]))
    centres = np.linspace(float(low), float(high), BANDS + 2)[1:-1]
    expected = int(np.argmin(np.abs(centres - mel(np.asarray([1000.0]))[0])))
    late = log_mel(tone, RATE_HZ)[60:]
    assert int(late.mean(0).argmax()) == expected


def test_mel_scale_has_1000_mel_at_1000_hz() -> None:
    """D. O'Shaughnessy, Speech Communication (1987): 1000 Hz is 1000 mel (999.99)."""
    assert mel(np.asarray([1000.0]))[0] == pytest.approx(1000, abs=0.02)


def test_the_weights_of_every_band_sum_to_one() -> None:
    for warp in (0.85, 1.0, 1.2):
        np.testing.assert_allclose(band_weights(warp).sum(0), 1)
