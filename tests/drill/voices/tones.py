"""Clips of tones with known words and pauses, and a measure of pauses."""

import numpy as np

from drill.core.models import Clip, WordTime

RATE_HZ = 16_000


def tone(frequency_hz: float, seconds: float = 1.0) -> Clip:
    """Return a sine of peak 0.8 at 16 kHz, without words."""
    time = np.arange(round(seconds * RATE_HZ)) / RATE_HZ
    sound = 0.8 * np.sin(2 * np.pi * frequency_hz * time)
    return Clip(samples=sound.astype(np.float32), rate_hz=RATE_HZ)


def tone_words(count: int) -> Clip:
    """Return a clip with this many words "x": tones of 0.2 s with 0.1 s of silence in between."""
    sound, silence = tone(500, 0.2).samples, np.zeros(RATE_HZ // 10, np.float32)
    samples = np.concatenate([part for _ in range(count) for part in (sound, silence)][:-1])
    words = tuple(
        WordTime(say="x", start_s=0.3 * index, end_s=0.3 * index + 0.2) for index in range(count)
    )
    return Clip(samples=samples, rate_hz=RATE_HZ, words=words)


def pauses_s(clip: Clip) -> list[float]:
    """Return the seconds between each word of a clip and the next."""
    return [b.start_s - a.end_s for a, b in zip(clip.words, clip.words[1:], strict=False)]
