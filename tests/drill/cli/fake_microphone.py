"""A microphone that plays given sounds into the recorder of words, and typed input."""

import io
from collections.abc import Callable

import numpy as np
import pytest

from drill.core.models import Clip
from drill.devices.microphone import BLOCK_S, InputLevel
from tests.drill.word_recordings import RATE_HZ, Sound, white_noise

QUIET_ROOM = white_noise(2, -70, seed=9)


class FakeMicrophone:
    """Records one sound after the other; after each sound, the room is quiet.

    recorded_s: length of each recording so far.
    """

    def __init__(self, *sounds: Sound) -> None:
        self._sounds = list(sounds)
        self.recorded_s: list[float] = []

    def record(
        self,
        *,
        seconds: float,
        until: Callable[[InputLevel], bool] | None = None,
        meter: Callable[[InputLevel], None] | None = None,
    ) -> Clip:
        """Return a recording as drill.devices.microphone.record_clip does."""
        sound = self._sounds.pop(0)
        samples = np.concatenate((sound, white_noise(6, -70)))[: round(seconds * RATE_HZ)]
        block, end = round(BLOCK_S * RATE_HZ), 0
        for end in range(block, len(samples) + 1, block):
            part = samples[end - block : end]
            level = InputLevel(
                end_s=end / RATE_HZ,
                peak=float(np.abs(part).max()),
                rms=float(np.sqrt(np.mean(part**2))),
            )
            if meter is not None:
                meter(level)
            if until is not None and until(level):
                break
        self.recorded_s.append(end / RATE_HZ)
        return Clip(samples=samples[:end].astype(np.float32), rate_hz=RATE_HZ)


def install_microphone(monkeypatch: pytest.MonkeyPatch, *sounds: Sound) -> FakeMicrophone:
    """Make the commands record these sounds; return the fake microphone that plays them."""
    fake = FakeMicrophone(*sounds)
    monkeypatch.setattr("drill.devices.microphone.record_clip", fake.record)
    monkeypatch.setattr("drill.devices.microphone.Microphone.__init__", lambda self: None)
    monkeypatch.setattr("drill.devices.microphone.Microphone.close", lambda self: None)
    return fake


def type_lines(monkeypatch: pytest.MonkeyPatch, *lines: str) -> None:
    """Replace standard input by these lines."""
    monkeypatch.setattr("sys.stdin", io.StringIO("".join(line + "\n" for line in lines)))
