"""Outside check of word banks: a person's words, joined, are understood by a recogniser.

Recordings of one talker at 8 kHz (Allison Smith; Debian package asterisk-core-sounds-en-wav,
CC-BY-SA-3.0), never committed. Recogniser: pocketsphinx 5.1.1 with its own US English model. Levels
by ITU-T P.56, whose meter is held against the standard's own figures in test_p56.py. The floor of
85 % of words is the project's own choice; the same words joined without care reach 92 % in
test_person.py, with longer pauses.
"""

import os
import shutil
from collections.abc import Iterator, Sequence
from pathlib import Path
from random import Random

import numpy as np
import pytest
from scipy.signal import butter, sosfilt

from drill.cli import main
from drill.core.models import Clip, Operator
from drill.radio.levels import speech_level
from drill.voices import find_engine
from drill.voices.operators import find_operator
from drill.voices.wordbank import folder as bank_folder
from drill.voices.wordbank.cut import LEAD_S, LEVEL_DB, RATE_HZ, TAIL_S, cut
from phonetics.message import Word
from tests.tools.voice_gate import DIGITS, LETTERS, composed_calls, judge, words_of

FOLDER = Path("/usr/share/asterisk/sounds/en_US_f_Allison")


@pytest.fixture(scope="module")
def person(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Operator]:
    """Return the operator of a bank made of the recordings by record-words --from."""
    if not FOLDER.exists():
        why = "needs recordings of a person (Debian: asterisk-core-sounds-en-wav)"
        (pytest.fail if os.environ.get("CI") else pytest.skip)(why)
    folder = tmp_path_factory.mktemp("person")
    for letter, word in LETTERS.items():
        shutil.copy(FOLDER / "phonetic" / f"{letter.lower()}_p.wav", folder / f"{word}.wav")
    for digit in DIGITS:
        shutil.copy(FOLDER / "digits" / f"{digit}.wav", folder / f"{digit}.wav")
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("FAINTCALL_HOME", str(tmp_path_factory.mktemp("home")))
        told = ["record-words", "person", "--from", str(folder), "--consent", "the talker"]
        assert main(told) == 0
        yield find_operator("bank-person")


@pytest.fixture(scope="module")
def clips(person: Operator) -> list[Clip]:
    """Return ten calls, in which nearly every letter and digit comes."""
    calls = composed_calls(10, Random(3))
    return [
        find_engine("bank").synthesise(words_of(call), person, n) for n, call in enumerate(calls)
    ]


def level_db(samples: np.ndarray[tuple[int], np.dtype[np.float32]], rate_hz: int) -> float:
    """Return the active level of one word, with the pause after it that P.56's hangover needs."""
    return speech_level(np.pad(samples, (0, rate_hz // 2)), rate_hz).active_db


@pytest.mark.slow
def test_the_person_is_understood(person: Operator) -> None:
    verdict = judge(person, find_engine("bank").synthesise, calls=20)
    assert verdict.accuracy >= 0.85, verdict.confusions


@pytest.mark.usefixtures("person")
def test_shuffled_words_are_not_what_was_said(person: Operator) -> None:
    def shuffled(words: Sequence[Word], each: Operator, seed: int) -> Clip:
        order = list(words)
        Random(seed).shuffle(order)
        return find_engine("bank").synthesise(order, each, seed)

    assert judge(person, shuffled, calls=5).accuracy < 0.7


@pytest.mark.usefixtures("person")
def test_every_word_that_is_kept_has_the_level() -> None:
    import soundfile

    bank = bank_folder.load("person")
    assert bank is not None
    assert len(bank.words) == 36
    for word in bank.words:
        samples, rate_hz = soundfile.read(bank.path(word), dtype="float32")
        assert level_db(samples, rate_hz) == pytest.approx(LEVEL_DB, abs=1), word


def test_the_words_of_a_call_are_equally_loud(clips: list[Clip]) -> None:
    for clip in clips:
        levels = []
        for word in clip.words:
            begin = round((word.start_s - 0.02) * clip.rate_hz)
            end = round((word.end_s + 0.04) * clip.rate_hz)
            levels.append(level_db(clip.samples[max(0, begin) : end], clip.rate_hz))
        assert max(levels) - min(levels) < 1


def test_no_join_clicks(clips: list[Clip]) -> None:
    """Steps between samples where recordings begin and end, against those within words."""
    for clip in clips:
        steps = np.abs(np.diff(clip.samples))
        reach = round(0.010 * clip.rate_hz)
        for word in clip.words:
            for edge_s in (word.start_s - LEAD_S, word.end_s + TAIL_S):
                at = round(edge_s * clip.rate_hz)
                near = steps[max(0, at - reach) : max(0, at + reach)]
                assert near.max(initial=0) < 0.01 < steps.max() / 5


@pytest.mark.usefixtures("person")
def test_nothing_of_a_word_is_cut_off() -> None:
    """What lies outside the bounds, in a studio's silence, holds less than 1/1000 of the energy."""
    import soundfile

    for path in sorted([*FOLDER.glob("phonetic/[a-z]_p.wav"), *FOLDER.glob("digits/[0-9].wav")]):
        samples, rate_hz = soundfile.read(path)
        made = cut(samples, rate_hz)
        gain = 10 ** ((LEVEL_DB - made.level_db) / 20)
        there = np.sum(np.square(made.samples / gain, dtype=np.float64)) / RATE_HZ
        voice = sosfilt(butter(4, 100, "highpass", fs=rate_hz, output="sos"), samples)
        assert there > 0.999 * np.sum(voice**2) / rate_hz, path.name
