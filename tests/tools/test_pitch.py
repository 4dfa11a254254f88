"""The pitch measurement reads known pitches."""

import numpy as np
import pytest

from drill.core.models import Clip
from tests.tools.pitch import median_pitch_hz


@pytest.mark.parametrize("pitch_hz", [80, 113, 160, 226, 320])
def test_a_sum_of_harmonics_has_the_pitch_of_its_fundamental(pitch_hz: float) -> None:
    time = np.arange(24_000) / 24_000
    tone = sum(np.sin(2 * np.pi * n * pitch_hz * time + n) / n for n in range(1, 11))
    clip = Clip(samples=(0.3 * np.asarray(tone)).astype(np.float32), rate_hz=24_000)
    assert median_pitch_hz(clip) == pytest.approx(pitch_hz, rel=0.01)


def test_noise_and_silence_have_no_pitch() -> None:
    noise = 0.2 * np.random.default_rng(1).standard_normal(24_000)
    for samples in (noise, np.zeros(24_000)):
        clip = Clip(samples=samples.astype(np.float32), rate_hz=24_000)
        assert median_pitch_hz(clip) == 0
