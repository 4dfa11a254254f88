"""The formant voice: the espeak-ng library of the wheel espeakng-loader, as klatt synthesis.

Every operator is a voice file of its own, so pitch and resonances are native to the synthesis. Word
times are the library's own events. Each over is spoken by a fresh process (formant_worker).
"""

import tomllib
from collections.abc import Sequence
from functools import cache
from importlib.resources import files
from importlib.util import find_spec
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np

from drill.core.errors import NoVoice, UserError, pip_install_command
from drill.core.models import Clip, Operator
from drill.voices.effects.finish import WordSpan, finish_clip, spans_by_letters
from drill.voices.engines.subprocess import order
from drill.voices.people.styles import vocal_style_of
from drill.voices.versions import installed_version
from phonetics.message import Word

REMEDY = (
    f"install it with: {pip_install_command('espeakng-loader==0.2.4')}, or choose natural operators"
)
USUAL_WPM = 150
WORKER = Path(__file__).with_name("worker.py")
LIMIT_S = 30.0
WORD, PHONEME = 1, 7
PAUSES = ("_", "_:", "_!", "_|")
KLATT = {f"klatt{number}": number for number in (2, 3, 4, 5)}
NO_ACCENT = "plain"
# Respelt where the library's own reading has other stress than ITU RR Appendix 14 gives.
RESPELT = {
    "papa": "pa-pah", "fower": "fohwer", "nadazero": "nahdah-zayroh", "unaone": "oonah-wun",
    "bissotwo": "beesoh-too", "terrathree": "tayrah-tree", "kartefour": "kartay-fohwer",
    "pantafive": "pantah-five", "soxisix": "soksee-six", "setteseven": "saytay-seven",
    "oktoeight": "oktoh-ait", "novenine": "no-vay-niner",
}  # fmt: skip
LIBRARIES = ("libespeak-ng.so", "libespeak-ng.dylib", "espeak-ng.dll")


class FormantEngine:
    """The engine of formant voices; each call is a process, so it is safe in threads."""

    name = "formant"
    repeatable = True

    @property
    def version(self) -> str:
        """Return what decides the sound: the version of the library's wheel."""
        return f"espeakng-loader {installed_version('espeakng-loader')}"

    def problem(self) -> str:
        """Return "" where the engine can speak, else one sentence with the remedy."""
        try:
            _library()
        except NoVoice as lack:
            return str(lack)
        return ""

    def synthesise(self, words: Sequence[Word], operator: Operator, seed: int) -> Clip:
        """Return a whole over, 22.05 kHz; the same arguments give the same samples on one machine.

        Raises: NoVoice where the library is missing or fails; UserError for an unknown voice or
        accent.
        """
        library = _library()
        text, ends = _text(words)
        request = {
            "library": str(library),
            "folder": str(library.parent),
            "voice": voice_file(operator),
            "text": text,
            "rate": round(USUAL_WPM * operator.pace),
            "seed": seed % 2**31,
        }
        answer, sound = order(
            WORKER,
            request,
            who="the formant voice",
            limit_s=LIMIT_S,
            flags=("-I", "-S"),
        )
        samples = np.frombuffer(sound, "<i2") / 32768
        spans = _spans(words, ends, answer["events"], len(samples), answer["rate_hz"])
        return finish_clip(samples, answer["rate_hz"], spans)


def voice_file(operator: Operator) -> str:
    """Return the espeak-ng voice file of an operator.

    Raises: UserError where the operator's voice or accent is not one of this engine.
    """
    accent = operator.accent or NO_ACCENT
    for value, known, noun in (
        (operator.voice, KLATT, "voice"), (accent, accents(), "accent"),
    ):  # fmt: skip
        if value not in known:
            allowed = ", ".join(repr(name) for name in known)
            raise UserError(f"no {noun} {value!r} of the formant engine; there are: {allowed}")
    half = 0.16 * operator.melody
    low, high = operator.pitch_hz * (1 - half), operator.pitch_hz * (1 + half)
    lines = [
        "name operator",
        *accents()[accent].split("\n"),
        f"pitch {low:.0f} {high:.0f}",
        "flutter 0",
        f"klatt {KLATT[operator.voice]}",
    ]
    percents = [round(100 * operator.formant_scale)] * 9
    percents[1] = round(100 * operator.formant_scale * vocal_style_of(operator).first_formant_scale)
    lines += [f"formant {number} {percent} 100 100" for number, percent in enumerate(percents)]
    return "\n".join(lines) + "\n"


@cache
def accents() -> dict[str, str]:
    """Return the accents and the lines of a voice file that make each."""
    data = files("drill.voices.engines.formant") / "accents.toml"
    return {name: lines.strip() for name, lines in tomllib.loads(data.read_text("utf-8")).items()}


def _library() -> Path:
    """Return the path of the library. Raises: NoVoice where it is missing."""
    spec = find_spec("espeakng_loader")
    if spec is None or not spec.origin:
        raise NoVoice(f"the formant voice needs the package espeakng-loader: {REMEDY}")
    folder = Path(spec.origin).parent
    for name in LIBRARIES:
        if (folder / name).exists() and (folder / "espeak-ng-data").exists():
            return folder / name
    raise NoVoice(f"the formant voice has no library for this machine in {folder}: {REMEDY}")


def _text(words: Sequence[Word]) -> tuple[str, list[int]]:
    """Return the text that the library is to read and where in it each word ends."""
    text, ends = "", []
    for word in words:
        spoken = RESPELT.get(word.say, word.say)
        # The library takes a full stop for the end of a sentence only before a capital.
        text += (spoken[0].upper() + spoken[1:] if text.endswith(". ") else spoken) + word.pause
        ends.append(len(text))
        text += " "
    return text.rstrip(), ends


def _spans(
    words: Sequence[Word], ends: Sequence[int], events: Sequence[Any], samples: int, rate_hz: int
) -> list[WordSpan]:
    """Return when each word sounds, from the events [type, text position, sample, name].

    The library reads some pairs ("of the") as one word; their time is shared out by letters.
    Raises: NoVoice where it has read nothing at the start.
    """
    first: dict[int, int] = {}
    last: dict[int, int] = {}
    current = -1
    for kind, position, sample, name in events:
        if kind == WORD:
            last.setdefault(current, sample)
            # A position counts from 1 and, after a full stop, points at the blank before the word.
            current = min(sum(end < position for end in ends), len(ends) - 1)
            first.setdefault(current, sample)
        elif kind == PHONEME and name in PAUSES:
            last.setdefault(current, sample)
    last.setdefault(current, samples)
    if 0 not in first:
        raise NoVoice(f"the formant voice left out {words[0].say!r}; choose natural operators")
    heads = sorted(first)
    return [
        span
        for head, after in pairwise([*heads, len(words)])
        for span in spans_by_letters(words[head:after], first[head] / rate_hz, last[head] / rate_hz)
    ]
