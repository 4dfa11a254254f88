"""The formant voice: the espeak-ng library in the wheel of espeakng-loader.

Each operator has its own voice definition, so pitch and formants are set within the synthesis. Word
times come from the library's events.
"""

import tomllib
from collections.abc import Mapping, Sequence
from functools import cache
from importlib.util import find_spec
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np

from drill.core.errors import NoVoice
from drill.core.models import Clip, Operator
from drill.core.packages import pip_install_command
from drill.voices.effects.finish import WordSpan, finish_clip, spans_by_letters
from drill.voices.engines.formant.voice_file import ACCENT_TABLE, voice_definition
from drill.voices.engines.phoneme_alphabets import ALPHABET_TABLES, espeak_phonemes
from drill.voices.engines.worker_process import run_engine_worker
from drill.voices.people.ways import ways_of_operator
from drill.voices.versions import digest_of_tables, installed_version
from phonetics.message import Word

_RESPELLINGS = Path(__file__).with_name("respellings.toml")
_TABLES = (ACCENT_TABLE, _RESPELLINGS, ALPHABET_TABLES)
_REMEDY = (
    f"install it with: {pip_install_command('espeakng-loader==0.2.4')}, or choose natural operators"
)
_REINSTALL = pip_install_command("--force-reinstall", "--no-deps", "espeakng-loader==0.2.4")
_WORKER = Path(__file__).with_name("worker.py")
_WORKER_FLAGS = ("-I", "-S")  # only the standard library: it starts faster
_TIMEOUT_S = 30.0
_WORDS_PER_MINUTE = 150
_LIBRARIES = ("libespeak-ng.so", "libespeak-ng.dylib", "espeak-ng.dll")
# Events of espeak-ng's speak_lib.h, and the names of its pause phonemes.
_WORD_EVENT, _PHONEME_EVENT = 1, 7
_PAUSES = ("_", "_:", "_!", "_|")


class FormantEngine:
    """Engine of the formant voices. Thread-safe, because each over has its own process."""

    name = "formant"
    repeatable = True
    sound_version = 1

    @property
    def version(self) -> str:
        """Return the versions that determine the sound: code, tables and library."""
        library = f"espeakng-loader {installed_version('espeakng-loader')}"
        return f"{self.sound_version} {digest_of_tables(*_TABLES)} {library}"

    def problem(self) -> str:
        """Return "" if the engine can speak, else one sentence with the remedy."""
        try:
            _library_path()
        except NoVoice as error:
            return str(error)
        return ""

    def synthesise(self, words: Sequence[Word], operator: Operator, seed: int) -> Clip:
        """Return one over at 22.05 kHz; the same arguments give the same samples on one machine.

        Raises: NoVoice if the library is missing or fails; UserError if the operator's voice or
        accent is unknown.
        """
        library = _library_path()
        # The phonemes are those of the American voice; accents have others.
        ways = {} if operator.accent else ways_of_operator(operator)
        text, word_ends = _text_for_library(words, ways)
        request = {
            "library": str(library),
            "folder": str(library.parent),
            "voice": voice_definition(operator),
            "text": text,
            "rate": round(_WORDS_PER_MINUTE * operator.pace),
            "seed": seed % 2**31,
        }
        answer, sound = run_engine_worker(
            _WORKER,
            request,
            voice="the formant voice",
            timeout_s=_TIMEOUT_S,
            flags=_WORKER_FLAGS,
            serves=True,
        )
        samples = np.frombuffer(sound, "<i2") / 32768
        rate_hz = answer["rate_hz"]
        spans = _spans_from_events(words, word_ends, answer["events"], len(samples), rate_hz)
        return finish_clip(samples, rate_hz, spans)


def _library_path() -> Path:
    """Return the path of the library. Raises: NoVoice if it is missing."""
    spec = find_spec("espeakng_loader")
    if spec is None or not spec.origin:
        raise NoVoice(f"the formant voice needs the package espeakng-loader: {_REMEDY}")
    folder = Path(spec.origin).parent
    for name in _LIBRARIES:
        if (folder / name).exists() and (folder / "espeak-ng-data").exists():
            return folder / name
    raise NoVoice(
        f"espeakng-loader has no library for this computer in {folder}: choose natural operators, "
        f"or install it again with: {_REINSTALL}"
    )


@cache
def _respellings() -> dict[str, str]:
    return tomllib.loads(_RESPELLINGS.read_text("utf-8"))


def _text_for_library(words: Sequence[Word], ways: Mapping[str, str]) -> tuple[str, list[int]]:
    """Return the text that the library reads, and the position in it where each word ends.

    ways: IPA of the words that the operator says in a particular way.
    """
    text, word_ends = "", []
    for word in words:
        if word.say in ways:
            spelling = espeak_phonemes(ways[word.say])
        else:
            spelling = _respellings().get(word.say, word.say)
        # The library treats a full stop as the end of a sentence only before a capital letter.
        if text.endswith(". "):
            spelling = spelling[0].upper() + spelling[1:]
        text += spelling + word.pause
        word_ends.append(len(text))
        text += " "
    return text.rstrip(), word_ends


def _spans_from_events(
    words: Sequence[Word],
    word_ends: Sequence[int],
    events: Sequence[Any],
    sample_count: int,
    rate_hz: int,
) -> list[WordSpan]:
    """Return the time of each word from the events [type, text position, sample, name].

    The library reads some pairs such as "of the" as one word; their time is divided by letters.

    Raises: NoVoice if the library skipped the first word.
    """
    first_samples: dict[int, int] = {}
    end_samples: dict[int, int] = {}
    current = -1
    for event_type, position, sample, name in events:
        if event_type == _WORD_EVENT:
            end_samples.setdefault(current, sample)
            # Positions count from 1; after a full stop they point at the blank before the word.
            current = min(sum(end < position for end in word_ends), len(word_ends) - 1)
            first_samples.setdefault(current, sample)
        elif event_type == _PHONEME_EVENT and name in _PAUSES:
            end_samples.setdefault(current, sample)
    end_samples.setdefault(current, sample_count)
    if 0 not in first_samples:
        raise NoVoice(f"the formant voice skipped {words[0].say!r}; choose natural operators")
    heads = sorted(first_samples)
    return [
        span
        for head, next_head in pairwise([*heads, len(words)])
        for span in spans_by_letters(
            words[head:next_head], first_samples[head] / rate_hz, end_samples[head] / rate_hz
        )
    ]
