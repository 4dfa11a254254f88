"""Fixture shared by the tests of the drill: a real ALSA microphone that plays a file."""

import os
from ctypes.util import find_library
from pathlib import Path

import pytest

ALSA_CONFIGURATION = """
</usr/share/alsa/alsa.conf>
pcm.!default {{ type plug slave.pcm "said" }}
pcm.said {{
    type file slave.pcm "null" file "/dev/null" infile "{file}" format "raw"
}}
"""


@pytest.fixture
def microphone_file(tmp_path: Path) -> Path:
    """Return the file that ALSA's microphone plays, from its start for each recording.

    Its samples are float32 at 44.1 kHz; asound.conf beside it is the configuration for ALSA.
    """
    if not Path("/usr/share/alsa/alsa.conf").exists() or not find_library("portaudio"):
        reason = "needs ALSA and PortAudio (Debian: libportaudio2)"
        (pytest.fail if os.environ.get("CI") else pytest.skip)(reason)
    file = tmp_path / "microphone.raw"
    (tmp_path / "asound.conf").write_text(ALSA_CONFIGURATION.format(file=file))
    return file
