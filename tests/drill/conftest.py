"""What the tests of the drill share: a file in place of the microphone."""

import os
from ctypes.util import find_library
from pathlib import Path

import pytest

ALSA = """
</usr/share/alsa/alsa.conf>
pcm.!default {{ type plug slave.pcm "said" }}
pcm.said {{
    type file slave.pcm "null" file "/dev/null" infile "{file}" format "raw"
}}
"""


@pytest.fixture
def said_file(tmp_path: Path) -> Path:
    """Return the file that the microphone of ALSA hears, 44.1 kHz, from its start every time."""
    if not Path("/usr/share/alsa/alsa.conf").exists() or not find_library("portaudio"):
        why = "needs ALSA and PortAudio (Debian: libportaudio2)"
        (pytest.fail if os.environ.get("CI") else pytest.skip)(why)
    file = tmp_path / "said.raw"
    (tmp_path / "asound.conf").write_text(ALSA.format(file=file))
    return file
