"""Outside check of the recogniser gate: its recogniser understands a person.

A person reaches what the gate requires of a formant voice. Recordings of one talker (Allison Smith;
Debian package asterisk-core-sounds-en-wav, CC-BY-SA-3.0), never committed; nothing was trained or
tuned with them.
"""

import os
from collections.abc import Sequence
from pathlib import Path
from random import Random

import numpy as np
import pytest
import soundfile

from drill.core.models import Clip, Operator, Samples
from phonetics.message import Word
from tests.tools.voice_gate import judge_operator

FOLDER = Path("/usr/share/asterisk/sounds/en_US_f_Allison")
PERSON = Operator(name="person", engine="natural", voice="recorded", pitch_hz=200.0)


@pytest.fixture(scope="module")
def _recordings() -> None:
    """Skips the test if the recordings are not installed."""
    if not FOLDER.exists():
        reason = "needs recordings of a person (Debian: asterisk-core-sounds-en-wav)"
        (pytest.fail if os.environ.get("CI") else pytest.skip)(reason)


def word_recording(character: str) -> Samples:
    """Return the word for a letter or digit at 8 kHz, without the silence around it."""
    is_digit = character.isdigit()
    name = f"digits/{character}" if is_digit else f"phonetic/{character.lower()}_p"
    samples, _ = soundfile.read(FOLDER / f"{name}.wav", dtype="float32")
    loud = np.flatnonzero(np.abs(samples) > 0.01)
    return np.asarray(samples[loud[0] : loud[-1]])


def join_recordings(words: Sequence[Word], _: Operator, seed: int) -> Clip:
    pause = np.random.default_rng(seed).normal(0, 1e-4, 1600).astype(np.float32)
    parts = [part for word in words for part in (word_recording(word.means), pause)]
    return Clip(samples=np.concatenate(parts), rate_hz=8_000)


def join_shuffled_recordings(words: Sequence[Word], operator: Operator, seed: int) -> Clip:
    shuffled = list(words)
    Random(seed).shuffle(shuffled)
    return join_recordings(shuffled, operator, seed)


@pytest.mark.slow
@pytest.mark.usefixtures("_recordings")
def test_a_person_is_understood() -> None:
    verdict = judge_operator(PERSON, join_recordings, calls=20)
    assert verdict.accuracy >= 0.85, verdict.confusions


@pytest.mark.usefixtures("_recordings")
def test_shuffled_words_do_not_pass_for_the_call() -> None:
    assert judge_operator(PERSON, join_shuffled_recordings, calls=5).accuracy < 0.7
