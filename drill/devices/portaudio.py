"""The PortAudio library, and the remedies if it or a device is missing."""

import sys
from collections.abc import Mapping
from typing import Any

from drill.core.packages import missing_package

NO_LIBRARY = {
    "linux": "on Debian or Ubuntu: sudo apt install libportaudio2",
    "darwin": "on macOS: install faintcall with pip again, PortAudio comes with it",
    "win32": "on Windows: install faintcall with pip again, PortAudio comes with it",
}
NO_OUTPUT = {
    "linux": "on Linux: connect or switch on an output in the sound settings",
    "darwin": "on macOS: choose an output in System Settings, Sound",
    "win32": "on Windows: choose an output in Settings, System, Sound",
}
NO_INPUT = {
    "linux": "on Linux: connect a microphone and choose it as input in the sound settings",
    "darwin": "on macOS: choose an input in System Settings, Sound",
    "win32": "on Windows: choose an input in Settings, System, Sound",
}
INPUT_SILENT = {
    "linux": "on Linux: switch it on and raise its level in the sound settings",
    "darwin": "on macOS: allow the terminal in System Settings, Privacy and Security, Microphone",
    "win32": "on Windows: allow desktop apps in Settings, Privacy and security, Microphone",
}
"""Remedies by sys.platform."""


def load_portaudio() -> Any:
    """Return the module sounddevice.

    Raises: OSError if the PortAudio library is missing, PackageMissing if sounddevice is.
    """
    try:
        import sounddevice  # the Linux wheel of sounddevice contains no PortAudio library
    except ImportError as error:
        raise missing_package(error) or error from None
    return sounddevice


def remedy_here(remedies: Mapping[str, str]) -> str:
    """Return the remedy for this operating system."""
    return remedies.get(sys.platform, "install PortAudio and choose a device in the sound settings")
