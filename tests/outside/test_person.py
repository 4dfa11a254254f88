"""Outside check of the gate itself: its recogniser understands a person.

Recordings of one talker (Allison Smith; Debian package asterisk-core-sounds-en-wav, CC-BY-SA-3.0),
never committed and never trained on. What the gate asks of a voice, a person reaches too.
"""

import os
from collections.abc import Sequence
from pathlib import Path
from random import Random

import numpy as np
import pytest
import soundfile

from drill.core.models import Clip, Operator
from phonetics.message import Word
from tests.tools.voice_gate import judge

FOLDER = Path("/usr/share/asterisk/sounds/en_US_f_Allison")
PERSON = Operator(name="person", engine="natural", voice="recorded", pitch_hz=200.0)


@pytest.fixture(scope="module")
def recordings() -> Path:
    if not FOLDER.exists():
        why = "needs recordings of a person (Debian: asterisk-core-sounds-en-wav)"
        (pytest.fail if os.environ.get("CI") else pytest.skip)(why)
    return FOLDER


def recorded(symbol: str) -> np.ndarray[tuple[int], np.dtype[np.float32]]:
    """Return the word for a letter or digit, 8 kHz, silence around it cut."""
    name = f"digits/{symbol}" if symbol.isdigit() else f"phonetic/{symbol.lower()}_p"
    samples, _ = soundfile.read(FOLDER / f"{name}.wav", dtype="float32")
    loud = np.flatnonzero(np.abs(samples) > 0.01)
    return np.asarray(samples[loud[0] : loud[-1]])


def say(words: Sequence[Word], _: Operator, seed: int) -> Clip:
    gap = np.random.default_rng(seed).normal(0, 1e-4, 1600).astype(np.float32)
    sound = np.concatenate([part for word in words for part in (recorded(word.means), gap)])
    return Clip(samples=sound, rate_hz=8_000)


@pytest.mark.slow
@pytest.mark.usefixtures("recordings")
def test_a_person_is_understood() -> None:
    verdict = judge(PERSON, say, calls=20)
    assert verdict.accuracy >= 0.85, verdict.confusions


@pytest.mark.usefixtures("recordings")
def test_a_person_whose_words_are_shuffled_is_not() -> None:
    def shuffled(words: Sequence[Word], each: Operator, seed: int) -> Clip:
        order = list(words)
        Random(seed).shuffle(order)
        return say(order, each, seed)

    assert judge(PERSON, shuffled, calls=5).accuracy < 0.7
