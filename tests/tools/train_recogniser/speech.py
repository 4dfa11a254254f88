"""Synthetic speakers for training: quick variants of the product's engines, in one process.

Each engine draws random speakers, who vary more than the product's roster and pronounce words in
individual ways. Sound is 8 kHz, float64. The quick variants (onnxruntime for the natural model, one
espeak-ng instance for all utterances) give the same voices as the product, not the same samples.
"""

import ctypes
import os
import tempfile
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from random import Random
from typing import Any, Protocol

import numpy as np
from numpy.typing import NDArray
from scipy.signal import resample_poly

from drill.core.models import Operator
from drill.voices.engines.chunks import Chunk, symbols_of
from drill.voices.engines.formant.engine import _library_path, _respellings
from drill.voices.engines.formant.voice_file import voice_definition
from drill.voices.engines.formant.worker import _set_voice
from drill.voices.engines.natural.bend import apply_operator
from drill.voices.engines.natural.model import assets_folder, natural_symbol_numbers
from drill.voices.engines.natural.network import SpectralFrames
from drill.voices.engines.natural.pronounce import _accent_rules, phonemes_of_word
from drill.voices.engines.phoneme_alphabets import espeak_phonemes, model_phonemes
from drill.voices.engines.studio.engine import _synthesise_chunk
from drill.voices.engines.studio.voice_files import find_voice, studio_voice_names
from phonetics.message import Word
from phonetics.ways_of_saying import draw_ways
from tests.tools.train_recogniser.vocabulary import EXTRA
from tests.tools.train_recogniser.vowel_habits import Habits, draw_habits, with_habits

Sound = NDArray[np.float64]
KLATT_VOICES = ("klatt2", "klatt2", "klatt3", "klatt4", "klatt5")
RATE_HZ = 8_000
ACCENTS = ("german", "slavic", "latin", "nordic", "british", "french", "italian", "japanese",
           "indian", "australian", "dutch")  # fmt: skip
TEST_VOICES = ("af_bella", "am_michael", "am_onyx", "bf_emma", "bm_george", "im_nicola",
               "hm_omega", "jf_alpha")  # fmt: skip
"""Studio voices that are kept out of training for tests."""
VALIDATION_VOICES = ("am_eric", "bf_lily", "em_alex", "zm_yunxi")
"""Studio voices that are kept out of training for choosing among recipes."""


@dataclass(frozen=True, kw_only=True)
class Speaker:
    """One speaker of an engine: changes of the voice, and ways of saying words.

    ways: words and IPA. habits: sounds and their replacements. detail: other parameters of the
    engine.
    """

    operator: Operator
    ways: Mapping[str, str]
    habits: Habits = ()
    detail: Any = None


class SpeakerSource(Protocol):
    """Draws speakers and speaks."""

    def draw_speaker(self, rng: Random) -> Speaker:
        """Return a speaker at random."""
        ...

    def say(self, words: Sequence[Word], speaker: Speaker, rng: Random) -> Sound:
        """Return speech of the speaker, 8 kHz."""
        ...


def said_as(word: str, speaker: Speaker) -> str:
    """Return a word's phonemes as the speaker says it, for the natural and studio models."""
    accent = speaker.operator.accent
    own = model_phonemes(speaker.ways[word]) if word in speaker.ways else EXTRA.get(word, "")
    if not own:
        return with_habits(phonemes_of_word(word, accent), speaker.habits)
    for pattern, replacement in _accent_rules(accent):
        own = pattern.sub(replacement, own)
    return with_habits(own, speaker.habits)


def _phonemes_of(words: Sequence[Word], speaker: Speaker) -> Chunk:
    return [(word, said_as(word.say, speaker)) for word in words]


class NaturalSpeakers:
    """The natural voice's model, run by onnxruntime."""

    def __init__(self) -> None:
        """Load the model."""
        import onnxruntime
        from hibari import dsp

        self._dsp = dsp
        options = onnxruntime.SessionOptions()
        options.intra_op_num_threads = options.inter_op_num_threads = 1
        options.log_severity_level = 3
        self._session = onnxruntime.InferenceSession(
            str(assets_folder() / "hibari.onnx"), options, providers=["CPUExecutionProvider"]
        )
        self._outputs = [output.name for output in self._session.get_outputs()]

    def draw_speaker(self, rng: Random) -> Speaker:
        """Return a speaker; lower voices have longer vocal tracts, as people have."""
        pitch_hz = float(np.exp(rng.uniform(np.log(72), np.log(275))))
        scale = 0.80 + 0.27 * np.log(pitch_hz / 75) / np.log(260 / 75) + rng.gauss(0, 0.035)
        pace = rng.choice([0.75, 0.85, 0.95, 1, 1, 1.1, 1.2, 1.3, 1.45, 1.6])
        operator = Operator(
            name="training", engine="natural", voice="heart", pitch_hz=pitch_hz,
            formant_scale=float(np.clip(scale, 0.74, 1.18)),
            pace=pace * rng.uniform(0.95, 1.05),
            breath_db=rng.choice([0, 0, 2, 4, 6, 8]),
            melody=rng.uniform(0.4, 1.5),
            accent=rng.choice(("", "", "", "", *ACCENTS)),
            vocal_style=rng.choice(["plain", "plain", "plain", "shouted"]),
        )  # fmt: skip
        return Speaker(operator=operator, ways=draw_ways(rng), habits=draw_habits(rng))

    def say(self, words: Sequence[Word], speaker: Speaker, rng: Random) -> Sound:
        """Return speech of the speaker, 8 kHz."""
        symbols, _ = symbols_of(_phonemes_of(words, speaker))
        numbers = natural_symbol_numbers()
        ids = np.asarray([[0, *(numbers[c] for c in symbols if c in numbers), 0]], np.int64)
        pace = np.asarray([speaker.operator.pace], np.float32)
        outputs = self._session.run(None, {"ids": ids, "speed": pace})
        part = {
            name: value[0].astype(np.float32)
            for name, value in zip(self._outputs, outputs, strict=True)
        }
        frames = SpectralFrames(
            harmonic=part["lh"], harmonic_phase=part["theta"], noise=part["ln"],
            residue=part["lr"], residue_phase=part["phi"], pitch_hz=part["f0"],
        )  # fmt: skip
        frames = apply_operator(frames, speaker.operator)
        sound = self._dsp.synth(
            frames.harmonic, frames.harmonic_phase, frames.noise, frames.residue,
            frames.residue_phase, frames.pitch_hz, np.random.default_rng(rng.getrandbits(31)),
        )  # fmt: skip
        return np.asarray(resample_poly(np.asarray(sound, np.float64), 1, 3))


class StudioSpeakers:
    """The studio voices and mixtures of two of them; voices kept for tests are left out."""

    def __init__(self, only: tuple[str, ...] = ()) -> None:
        """Use every voice for training, or only the named ones, unchanged."""
        self._only = only
        held = {*TEST_VOICES, *VALIDATION_VOICES}
        names = [name for name in studio_voice_names() if name not in held]
        self._voices = only or (*names, *(name for name in names if name[0] in "ab"))

    def draw_speaker(self, rng: Random) -> Speaker:
        """Return a speaker: one voice or a mixture, slightly changed."""
        name = rng.choice(self._voices)
        vector, usual_hz = find_voice(name)
        if self._only:
            operator = Operator(
                name=name,
                engine="studio",
                voice=name,
                pitch_hz=usual_hz,
                pace=rng.uniform(0.95, 1.2),
            )
            return Speaker(operator=operator, ways={}, detail=(vector, usual_hz))
        if rng.random() < 0.6:
            other, other_hz = find_voice(rng.choice(self._voices))
            share = rng.uniform(0.3, 0.7)
            vector = np.asarray(share * vector + (1 - share) * other, np.float32)
            usual_hz = usual_hz**share * other_hz ** (1 - share)
        pace = rng.choice([0.7, 0.8, 0.9, 1, 1, 1.1, 1.2, 1.35, 1.5])
        operator = Operator(
            name="training", engine="studio", voice=name,
            pitch_hz=float(np.clip(usual_hz * np.exp(rng.gauss(0, 0.12)), 65, 330)),
            formant_scale=float(np.clip(1 + rng.gauss(0, 0.05), 0.86, 1.14)),
            pace=pace * rng.uniform(0.95, 1.05),
            melody=rng.uniform(0.5, 1.4),
            accent=rng.choice(("",) * 7 + ACCENTS),
        )  # fmt: skip
        return Speaker(
            operator=operator, ways=draw_ways(rng), habits=draw_habits(rng),
            detail=(vector, usual_hz),
        )  # fmt: skip

    def say(self, words: Sequence[Word], speaker: Speaker, rng: Random) -> Sound:
        """Return speech of the speaker, 8 kHz."""
        vector, usual_hz = speaker.detail
        sound, _ = _synthesise_chunk(
            _phonemes_of(words, speaker), speaker.operator, vector, usual_hz
        )
        return np.asarray(resample_poly(sound, 1, 3))


class FormantSpeakers:
    """The espeak-ng library: Klatt synthesis as the product has it, and its own formant synthesis.

    Speakers differ in pitch, formants (place, height and width), source, roughness and breath.
    """

    SYNCHRONOUS, NO_EXIT, UTF8_AND_PHONEMES, RATE = 2, 0x8000, 0x101, 1

    def __init__(self) -> None:
        """Load the library, once in a process."""
        path = _library_path()
        self._library = ctypes.CDLL(str(path))
        folder = tempfile.mkdtemp()
        (Path(folder) / "espeak-ng-data").symlink_to(path.parent / "espeak-ng-data")
        before = Path.cwd()
        os.chdir(folder)  # the library truncates paths to 160 characters
        self._rate_hz = self._library.espeak_Initialize(self.SYNCHRONOUS, 0, b".", self.NO_EXIT)
        self._folder, self._before = folder, before
        self._sound: list[bytes] = []
        kind = ctypes.CFUNCTYPE(
            ctypes.c_int, ctypes.POINTER(ctypes.c_short), ctypes.c_int, ctypes.c_void_p
        )
        self._callback = kind(self._receive)
        self._library.espeak_SetSynthCallback(self._callback)
        self._current: Speaker | None = None

    def _receive(self, samples: Any, count: int, _events: Any) -> int:
        if count > 0:
            self._sound.append(ctypes.string_at(samples, 2 * count))
        return 0

    def draw_speaker(self, rng: Random) -> Speaker:
        """Return a speaker with a voice file of their own."""
        pitch_hz = float(np.exp(rng.uniform(np.log(70), np.log(270))))
        scale = 0.88 + 0.22 * np.log(pitch_hz / 75) / np.log(260 / 75) + rng.gauss(0, 0.03)
        operator = Operator(
            name="training", engine="formant", voice=rng.choice(KLATT_VOICES),
            pitch_hz=pitch_hz, formant_scale=float(np.clip(scale, 0.84, 1.12)),
            pace=rng.uniform(0.7, 1.5), melody=rng.uniform(0.4, 1.6),
            accent=rng.choice(["", "", "", "british", "received", "scottish"]),
        )  # fmt: skip
        lines = voice_definition(operator).rstrip().split("\n")
        if rng.random() < 0.5:
            lines = [line for line in lines if not line.startswith(("klatt", "formant", "flutter"))]
            lines += _formant_lines(operator, rng)
        return Speaker(operator=operator, ways=draw_ways(rng), detail="\n".join(lines) + "\n")

    def say(self, words: Sequence[Word], speaker: Speaker, rng: Random) -> Sound:
        """Return speech of the speaker, 8 kHz."""
        library = self._library
        if self._current is not speaker:
            _set_voice(library, speaker.detail)
            self._current = speaker
        library.espeak_SetParameter(self.RATE, round(150 * speaker.operator.pace), 0)
        library.espeak_ng_SetRandSeed(ctypes.c_long(rng.getrandbits(30)))
        text = " ".join(_espeak_text(word, speaker) + word.pause for word in words).encode()
        self._sound.clear()
        library.espeak_Synth(text, len(text) + 1, 0, 1, 0, self.UTF8_AND_PHONEMES, None, None)
        sound = np.frombuffer(b"".join(self._sound), "<i2").astype(np.float64) / 32768
        return np.asarray(resample_poly(sound, RATE_HZ // 50, self._rate_hz // 50))


def _espeak_text(word: Word, speaker: Speaker) -> str:
    if word.say in speaker.ways and not speaker.operator.accent:
        return espeak_phonemes(speaker.ways[word.say])
    return _respellings().get(word.say, word.say)


def _formant_lines(operator: Operator, rng: Random) -> list[str]:
    """Return lines of a voice file for espeak-ng's own synthesis, formants and source random."""
    lines = [f"flutter {rng.randint(0, 4)}", f"roughness {rng.choice([0, 1, 2, 2, 3, 4])}"]
    for number in range(9):
        place = round(100 * operator.formant_scale * rng.uniform(0.96, 1.04))
        height = round(100 * np.exp(rng.gauss(0, 0.2)))
        width = round(100 * np.exp(rng.gauss(0.1, 0.2)))
        lines.append(f"formant {number} {place} {height} {width}")
    if rng.random() < 0.4:
        lines.append(f"breath {' '.join(str(rng.randint(0, 40)) for _ in range(5))}")
    if rng.random() < 0.4:
        low, middle, high = rng.randint(60, 255), rng.randint(20, 160), rng.randint(20, 120)
        lines.append(f"tone 600 {low} 1200 {middle} 2000 {high}")
    return lines


ENGINES: Mapping[str, Callable[[], SpeakerSource]] = {
    "natural": NaturalSpeakers,
    "formant": FormantSpeakers,
    "studio": StudioSpeakers,
    "studio-test": partial(StudioSpeakers, TEST_VOICES),
    "studio-validation": partial(StudioSpeakers, VALIDATION_VOICES),
}
