"""Speed of the studio voices on this computer, measured once and stored.

Studio voices take part in default draws only if the computer synthesises them faster than they are
spoken, so that prefetching stays ahead of the trainee.
"""

import json
import os
import platform
import tempfile
import time
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from drill.core.models import Operator
from drill.core.paths import cache_folder
from phonetics.message import Word

MAX_SHARE_OF_LENGTH = 0.8
"""Longest time of synthesis, as a share of the over's length. The rest is a margin for a busy
computer."""
MIN_PROCESSORS = 2
"""With one processor, synthesis would compete with playback."""
_SAMPLE = tuple(
    Word(say=say, pause=pause)
    for say, pause in (("echo", ""), ("eight", ""), ("seven", ","), ("alfa", ""), ("bravo", ""))
)
_SAMPLE_OPERATOR = Operator(name="sample", engine="studio", voice="af_heart", pitch_hz=196.7)


@dataclass(frozen=True, kw_only=True, slots=True)
class StudioSpeed:
    """Result of the measurement. share_of_length: processor time / length of the speech."""

    share_of_length: float

    @property
    def is_quick_enough(self) -> bool:
        """Return True if studio voices can take part in default draws."""
        processors = os.cpu_count() or 1
        return self.share_of_length <= MAX_SHARE_OF_LENGTH and processors >= MIN_PROCESSORS


def measure_studio_speed() -> StudioSpeed:
    """Measure the speed of the studio voice on this computer; store and return the result.

    It takes several seconds. Processor time is measured, so other programs hardly affect it.

    Raises: NoVoice if the studio voice cannot speak here.
    """
    from drill.voices.engines.studio.engine import StudioEngine

    engine = StudioEngine()
    engine.synthesise(_SAMPLE[:1], _SAMPLE_OPERATOR, 0)  # loads the model
    began = time.thread_time()
    clip = engine.synthesise(_SAMPLE, _SAMPLE_OPERATOR, 0)
    speed = StudioSpeed(share_of_length=round((time.thread_time() - began) / clip.seconds, 3))
    with suppress(OSError):  # the speed is then measured again on request
        _store(speed)
    return speed


def stored_studio_speed() -> StudioSpeed | None:
    """Return the stored result of this computer, None if there is none."""
    try:
        data = json.loads(_file().read_text("utf-8"))
        share = float(data["share_of_length"])
        same_computer = data["computer"] == _computer()
    except (OSError, ValueError, LookupError, TypeError):
        return None
    return StudioSpeed(share_of_length=share) if same_computer and share > 0 else None


def studio_is_quick_enough() -> bool:
    """Return True if this computer was measured and is quick enough for default draws."""
    speed = stored_studio_speed()
    return speed is not None and speed.is_quick_enough


def _file() -> Path:
    return cache_folder() / "studio-speed.json"


def _computer() -> str:
    """Return a text that distinguishes computers that share a home folder."""
    return f"{platform.node()} {platform.machine()} {os.cpu_count()}"


def _store(speed: StudioSpeed) -> None:
    path = _file()
    path.parent.mkdir(parents=True, exist_ok=True)
    content = json.dumps({"computer": _computer(), "share_of_length": speed.share_of_length})
    handle, temporary = tempfile.mkstemp(dir=path.parent)
    with os.fdopen(handle, "w", encoding="utf-8") as file:
        file.write(content)
    Path(temporary).replace(path)
