"""Band noise as a stream; tests/outside/test_static.py checks its statistics."""

import numpy as np
import pytest

from drill.radio.noise import BandNoise, static_depth


@pytest.mark.parametrize("vd_db", [None, 6.0])
def test_requests_of_any_size_give_the_same_noise(vd_db: float | None) -> None:
    whole = BandNoise(1.0, vd_db, np.random.default_rng(2)).take(10_000)
    noise = BandNoise(1.0, vd_db, np.random.default_rng(2))
    parts = np.concatenate([noise.take(count) for count in (1, 0, 4096, 5903)])
    assert np.array_equal(parts, whole)


def test_the_density_scales_the_noise() -> None:
    unit = BandNoise(1.0, None, np.random.default_rng(2)).take(1000)
    quarter = BandNoise(0.25, None, np.random.default_rng(2)).take(1000)
    assert np.allclose(quarter, unit / 2, rtol=1e-6)


@pytest.mark.parametrize("vd_db", [1.0, 12.5, float("nan")])
def test_a_voltage_deviation_out_of_range_is_rejected(vd_db: float) -> None:
    with pytest.raises(ValueError, match=r"must be above 1\.05 and at most 12 dB"):
        static_depth(vd_db)
