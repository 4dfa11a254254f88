"""Synthetic voices for the tests of the channel."""

import numpy as np

from drill.core.models import Clip, WordTime
from drill.radio import AUDIO_RATE_HZ


def voice_like(seconds: float = 2.0, rate_hz: int = 24_000, seed: int = 0) -> Clip:
    """Return noise that swells four times per second, so its level varies as that of speech."""
    time = np.arange(round(seconds * rate_hz)) / rate_hz
    noise = np.random.default_rng(seed).standard_normal(len(time))
    swell = np.sin(2 * np.pi * 2 * time) ** 2
    return Clip(
        samples=(0.1 * noise * swell).astype(np.float32),
        rate_hz=rate_hz,
        words=(WordTime(say="alfa", start_s=0.1, end_s=0.5),),
    )


def hum(pitch_hz: float, seconds: float = 4.0) -> Clip:
    """Return a voice that consists of one tone."""
    time = np.arange(round(seconds * AUDIO_RATE_HZ)) / AUDIO_RATE_HZ
    samples = (0.1 * np.sin(2 * np.pi * pitch_hz * time)).astype(np.float32)
    return Clip(samples=samples, rate_hz=AUDIO_RATE_HZ)
