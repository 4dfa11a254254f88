"""The voices of the operating system (SAPI5, macOS, espeak-ng on Linux), through pyttsx3.

They are not in the roster, because they differ between computers. Word times are estimated, because
no driver reports them. The engine ignores pitch and formant scale.
"""

import re
import sys
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from importlib.util import find_spec
from pathlib import Path

import numpy as np

from drill.core.errors import NoVoice, UserError
from drill.core.models import Clip, Operator, Samples
from drill.core.packages import pip_install_command
from drill.voices.effects.finish import finish_clip
from drill.voices.engines.system.word_times import estimate_word_spans
from drill.voices.engines.worker_process import run_engine_worker
from drill.voices.versions import installed_version
from phonetics.message import Word

SYSTEM_PREFIX = "system-"
_TITLE = "the system's voice"
_WORKER = Path(__file__).with_name("worker.py")
_WORKER_FLAGS = ("-P",)  # do not import from the script's folder
_TIMEOUT_S = 60.0
_MAX_TRIES = 3
"""On a busy computer pyttsx3 sometimes ends before it has written the file."""
_NOMINAL_PITCH_HZ = 120.0  # pitch of the operator, nominal: the voice keeps its own pitch


@dataclass(frozen=True, kw_only=True, slots=True)
class SystemVoice:
    """A voice of the system: the driver's identifier, its display name, its languages."""

    identifier: str
    title: str
    languages: tuple[str, ...]

    @property
    def operator_name(self) -> str:
        """Return the name of this voice's operator, such as system-english-america."""
        plain = re.sub(r"[^a-z0-9]+", "-", self.title.lower()).strip("-")
        return SYSTEM_PREFIX + (plain or "voice")


class SystemEngine:
    """Engine of the system's voices. Thread-safe, because each call has its own process."""

    name = "system"
    repeatable = False
    sound_version = 1

    @property
    def version(self) -> str:
        """Return code and pyttsx3's version; systems do not report the version of a voice."""
        return f"{self.sound_version} pyttsx3 {installed_version('pyttsx3')} {sys.platform}"

    def problem(self) -> str:
        """Return "" if the system has a voice, else one sentence with the remedy."""
        try:
            system_voices()
        except NoVoice as error:
            return str(error)
        return ""

    def synthesise(self, words: Sequence[Word], operator: Operator, seed: int) -> Clip:
        """Return one over at the voice's own sample rate; the seed has no effect.

        Raises: NoVoice if pyttsx3 or the system's engine is missing or fails.
        """
        _require_package()
        text = " ".join(word.say + word.pause for word in words)
        with tempfile.TemporaryDirectory() as folder:
            # macOS writes AIFF whatever the file is called; the reader looks at the content.
            path = Path(folder) / ("over.aiff" if sys.platform == "darwin" else "over.wav")
            request = {
                "text": text,
                "voice": operator.voice,
                "rate": operator.pace,
                "file": str(path),
            }
            for _ in range(_MAX_TRIES):
                run_engine_worker(
                    _WORKER, request, voice=_TITLE, timeout_s=_TIMEOUT_S, flags=_WORKER_FLAGS
                )
                if path.is_file():
                    break
            samples, rate_hz = _read_first_channel(path)
        trimmed = finish_clip(samples, rate_hz, []).samples
        return finish_clip(trimmed, rate_hz, estimate_word_spans(words, trimmed, rate_hz))


@cache
def system_voices() -> tuple[SystemVoice, ...]:
    """Return the voices of this system, of all languages.

    Raises: NoVoice if there is none or pyttsx3 cannot list them.
    """
    _require_package()
    answer, _ = run_engine_worker(
        _WORKER, {}, voice=_TITLE, timeout_s=_TIMEOUT_S, flags=_WORKER_FLAGS
    )
    voices = tuple(
        SystemVoice(identifier=identifier, title=title, languages=tuple(languages))
        for identifier, title, languages in answer["voices"]
    )
    if not voices:
        raise NoVoice("this system has no voice; add one in its speech settings")
    return voices


def system_operator(name: str) -> Operator:
    """Return the operator of a voice of the system; name: such as system-english-america.

    Raises: UserError listing the choices if there is no such voice; NoVoice as system_voices.
    """
    # If several voices have the same name, the first is used.
    voices = {voice.operator_name: voice for voice in reversed(system_voices())}
    if name not in voices:
        choices = ", ".join(sorted(voices))
        raise UserError(f"unknown operator {name!r}; this system has {choices}")
    identifier = voices[name].identifier
    return Operator(name=name, engine="system", voice=identifier, pitch_hz=_NOMINAL_PITCH_HZ)


def _require_package() -> None:
    if find_spec("pyttsx3") is None:
        raise NoVoice(
            f"the system's voices need the package pyttsx3: {pip_install_command('pyttsx3')}"
        )


def _read_first_channel(path: Path) -> tuple[Samples, int]:
    """Return the first channel of a sound file and its sample rate in Hz."""
    import soundfile

    try:
        samples, rate_hz = soundfile.read(path, dtype="float32", always_2d=True)
    except (OSError, RuntimeError):
        raise NoVoice(f"{_TITLE} wrote no sound; choose operators of another engine") from None
    return np.ascontiguousarray(samples[:, 0]), int(rate_hz)
