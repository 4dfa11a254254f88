"""The system's own voices (SAPI5, macOS, espeak-ng on Linux) through pyttsx3.

They are not in the roster: which there are differs from machine to machine, and so does what they
say. Word times are estimated, no driver tells them. Pitch and tract stay as the voice has them.
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

from drill.core.arrays import runs
from drill.core.errors import NoVoice, UserError, pip_install_command
from drill.core.models import Clip, Operator, Samples
from drill.voices.effects.finish import (
    ENVELOPE_FRAME_S,
    SILENCE_DB,
    WordSpan,
    envelope_db,
    finish_clip,
    spans_by_letters,
)
from drill.voices.engines.subprocess import order
from drill.voices.versions import installed_version
from phonetics.message import Word

SYSTEM_PREFIX = "system-"
WHO = "the system's voice"
WORKER = Path(__file__).with_name("worker.py")
LIMIT_S = 60.0
FLAGS = ("-P",)  # the script's folder is no place to import from
USUAL_PITCH_HZ = 120.0  # of an operator whose pitch is the voice's own
GAP_S = 0.06  # a silence at least so long is between words, not in a stop consonant


@dataclass(frozen=True, kw_only=True, slots=True)
class SystemVoiceName:
    """One voice of the system: the driver's identifier, its display name, its languages."""

    identifier: str
    title: str
    languages: tuple[str, ...]

    @property
    def operator_name(self) -> str:
        """Return the name under which an operator of this voice is asked for."""
        plain = re.sub(r"[^a-z0-9]+", "-", self.title.lower()).strip("-")
        return SYSTEM_PREFIX + (plain or "voice")


class SystemEngine:
    """The engine of the system's voices; each call is a process, so it is safe in threads."""

    name = "system"
    repeatable = False

    @property
    def version(self) -> str:
        """Return the version of pyttsx3; that of the system's voice is not to be had."""
        return f"pyttsx3 {installed_version('pyttsx3')} {sys.platform}"

    def problem(self) -> str:
        """Return "" where the system has a voice, else one sentence with the remedy."""
        try:
            system_voices()
        except NoVoice as lack:
            return str(lack)
        return ""

    def synthesise(self, words: Sequence[Word], operator: Operator, seed: int) -> Clip:
        """Return a whole over at the voice's own sample rate; the seed changes nothing.

        Word times are estimates from the letters and the silences, good to about 0.15 s.
        Raises: NoVoice where pyttsx3 or the system's engine is missing or fails.
        """
        _need()
        text = " ".join(word.say + word.pause for word in words)
        with tempfile.TemporaryDirectory() as folder:
            # macOS writes AIFF whatever the name says; the reader looks at the content.
            path = Path(folder) / ("said.aiff" if sys.platform == "darwin" else "said.wav")
            request = {
                "text": text, "voice": operator.voice, "rate": operator.pace, "file": str(path),
            }  # fmt: skip
            order(WORKER, request, who=WHO, limit_s=LIMIT_S, flags=FLAGS)
            samples, rate_hz = _read(path)
        clip = finish_clip(samples, rate_hz, [])
        return finish_clip(clip.samples, rate_hz, estimated_spans(words, clip.samples, rate_hz))


@cache
def system_voices() -> tuple[SystemVoiceName, ...]:
    """Return the voices of this system.

    Raises: NoVoice where there is none or pyttsx3 cannot list them.
    """
    _need()
    told, _ = order(WORKER, {}, who=WHO, limit_s=LIMIT_S, flags=FLAGS)
    voices = tuple(
        SystemVoiceName(identifier=identifier, title=title, languages=tuple(languages))
        for identifier, title, languages in told["voices"]
    )
    if not voices:
        raise NoVoice("this system has no voice; add one in its speech settings")
    return voices


def system_operator(name: str) -> Operator:
    """Return the operator of a system's voice, by its name such as system-english-america.

    Raises: UserError naming the choices where there is no such voice; NoVoice where none is.
    """
    voices = {each.operator_name: each for each in reversed(system_voices())}
    if name not in voices:
        choices = ", ".join(sorted(voices))
        raise UserError(f"no operator {name!r}; this system has: {choices}")
    voice = voices[name].identifier
    return Operator(name=name, engine="system", voice=voice, pitch_hz=USUAL_PITCH_HZ)


def _need() -> None:
    if find_spec("pyttsx3") is None:
        raise NoVoice(
            f"the system's voices need the package pyttsx3: {pip_install_command('pyttsx3')}"
        )


def _read(path: Path) -> tuple[Samples, int]:
    """Return the first channel of a sound file and its rate."""
    import soundfile

    try:
        samples, rate_hz = soundfile.read(path, dtype="float32", always_2d=True)
    except (OSError, RuntimeError):
        raise NoVoice(f"{WHO} wrote no sound; choose operators of another engine") from None
    return np.ascontiguousarray(samples[:, 0]), int(rate_hz)


def estimated_spans(words: Sequence[Word], samples: Samples, rate_hz: int) -> list[WordSpan]:
    """Return a guess when each word sounds: the longest silences are the pauses, letters the rest.

    Where there are fewer silences than pauses the whole time is shared out by letters.
    """
    seconds = len(samples) / rate_hz
    groups: list[list[Word]] = [[]]
    for word in words:
        groups[-1].append(word)
        if word.pause:
            groups.append([])
    groups = [group for group in groups if group]
    inner = [gap for gap in _silences(samples, rate_hz) if gap[0] > 0 and gap[1] < seconds - GAP_S]
    if len(inner) < len(groups) - 1:
        groups, inner = [list(words)], []
    inner = sorted(sorted(inner, key=lambda gap: gap[0] - gap[1])[: len(groups) - 1])
    starts = [0.0, *(gap[1] for gap in inner)]
    ends = [*(gap[0] for gap in inner), seconds]
    return [
        span
        for group, start, end in zip(groups, starts, ends, strict=True)
        for span in spans_by_letters(group, start, end)
    ]


def _silences(samples: Samples, rate_hz: int) -> list[tuple[float, float]]:
    """Return start and end in seconds of the silences that are long enough to part words."""
    quiet = [
        (a * ENVELOPE_FRAME_S, b * ENVELOPE_FRAME_S)
        for a, b in runs(envelope_db(samples, rate_hz) < SILENCE_DB)
    ]
    return [(a, b) for a, b in quiet if b - a >= GAP_S]
