"""A fake of the sounddevice library for recording, and sound for ALSA's file microphone."""

from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from drill.core.arrays import resample
from drill.devices import microphone

RATE_HZ = 8000
TONE = (0.5 * np.sin(2 * np.pi * 500 * np.arange(2 * RATE_HZ) / RATE_HZ)).astype(np.float32)
NO_OVERFLOW = SimpleNamespace(input_overflow=False)
OVERFLOW = SimpleNamespace(input_overflow=True)


class FakeInputLibrary:
    """The parts of sounddevice that are used; a started stream delivers its sound at once."""

    class PortAudioError(Exception):
        pass

    class CallbackStop(Exception):
        pass

    def __init__(
        self,
        sound: Any = TONE,
        *,
        device: bool = True,
        opens: bool = True,
        channels: tuple[int, ...] = (1, 2),
        status: Any = NO_OVERFLOW,
        stays: bool = True,
        block: int = 333,
        rate_hz: int = RATE_HZ,
    ) -> None:
        self.sound, self.device, self.opens, self.channels = sound, device, opens, channels
        self.status, self.stays, self.block = status, stays, block
        self.rate_hz = rate_hz
        self.opened: list[int] = []
        self.closed = 0

    def query_devices(self, kind: str) -> dict[str, float]:
        assert kind == "input"
        if not self.device:
            raise self.PortAudioError("Error querying device -1")
        return {"default_samplerate": float(self.rate_hz), "max_input_channels": max(self.channels)}

    def InputStream(self, *, channels: int, callback: Any, **given: Any) -> SimpleNamespace:
        if not self.opens or channels not in self.channels:
            raise self.PortAudioError("Invalid\nnumber of channels")
        assert given["samplerate"] == self.rate_hz
        self.opened.append(channels)
        stream = SimpleNamespace(active=True)

        def start() -> None:
            for at in range(0, len(self.sound), self.block):
                part = np.zeros((len(self.sound[at : at + self.block]), channels), np.float32)
                part[:, 0] = self.sound[at : at + self.block]
                try:
                    callback(part, len(part), None, self.status)
                except self.CallbackStop:
                    stream.active = False
                    return
            stream.active = self.stays

        def close() -> None:
            self.closed += 1

        stream.start, stream.close = start, close
        return stream


def use_library(monkeypatch: pytest.MonkeyPatch, library: FakeInputLibrary) -> FakeInputLibrary:
    monkeypatch.setattr(microphone, "load_portaudio", lambda: library)
    monkeypatch.setattr(microphone, "STALL_TIMEOUT_S", 0.05)
    return library


def play_into_microphone(file: Path, sound: Any, rate_hz: int) -> None:
    """Make the ALSA microphone (fixture microphone_file) deliver a sound from now on."""
    fresh = file.with_suffix(".new")
    resample(sound, rate_hz, 44_100).astype(np.float32).tofile(fresh)
    fresh.replace(file)
