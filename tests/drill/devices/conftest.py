"""A computer without the PortAudio library, for the tests of output and microphone."""

import builtins
from typing import Any

import pytest


@pytest.fixture(
    params=[("linux", "apt install libportaudio2"), ("darwin", "on macOS"), ("win32", "on Windows")]
)
def remedy_without_library(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> str:
    """Hide the library on one operating system, and return the remedy to expect there."""
    system, remedy = request.param
    real = builtins.__import__

    def without(name: str, *given: Any) -> Any:
        if name == "sounddevice":
            raise OSError("PortAudio library not found")
        return real(name, *given)

    monkeypatch.setattr(builtins, "__import__", without)
    monkeypatch.setattr("sys.platform", system)
    return str(remedy)
