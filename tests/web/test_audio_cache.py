"""The cache of rendered sounds."""

import numpy as np

from drill.core.models import Clip
from drill.web.audio_cache import AudioCache

CLIP = Clip(samples=np.zeros(1000, np.float32), rate_hz=16_000)
CLIP_BYTES = 2044
"""A WAV file of 1000 samples of 16 bits with its header of 44 bytes."""


def name_in(url: str) -> str:
    return url.removeprefix("/api/sounds/").removesuffix(".wav")


def test_oldest_sounds_are_dropped_when_the_limit_is_exceeded() -> None:
    cache = AudioCache(max_bytes=2 * CLIP_BYTES)
    names = [name_in(cache.add(CLIP)) for _ in range(3)]
    assert cache.get(names[0]) is None
    for name in names[1:]:
        data = cache.get(name)
        assert data is not None
        assert len(data) == CLIP_BYTES


def test_newest_sound_stays_even_if_it_alone_exceeds_the_limit() -> None:
    cache = AudioCache(max_bytes=1)
    name = name_in(cache.add(CLIP))
    assert cache.get(name) is not None


def test_names_are_long_and_different() -> None:
    cache = AudioCache()
    names = {name_in(cache.add(CLIP)) for _ in range(10)}
    assert len(names) == 10
    assert all(len(name) >= 16 for name in names)
