"""Outside check of word banks: a recogniser understands a person's words after they are joined.

Recordings of one talker at 8 kHz (Allison Smith; Debian package asterisk-core-sounds-en-wav,
CC-BY-SA-3.0), never committed. Recogniser: `own`, any words in any order; it was trained with
synthetic speech only. Levels by ITU-T P.56; test_p56.py compares the level meter with figures from
the standard. The required 90 % of words were chosen by the project.
"""

import os
import shutil
from collections.abc import Iterator, Sequence
from pathlib import Path
from random import Random

import numpy as np
import pytest
import soundfile
from scipy.signal import butter, sosfilt

from drill.cli import main
from drill.core.models import Clip, Operator, Samples
from drill.radio.levels import speech_level
from drill.voices import find_engine
from drill.voices.operators import find_operator
from drill.voices.wordbank.cut import WORD_LEAD_S, WORD_TAIL_S, cut_word
from drill.voices.wordbank.signal_levels import BANK_LEVEL_DB, BANK_RATE_HZ
from drill.voices.wordbank.storage import load_bank
from phonetics.message import Word
from tests.tools.voice_gate.calls import WORD_OF, call_words, compose_gate_calls
from tests.tools.voice_gate.judge import judge_operator

FOLDER = Path("/usr/share/asterisk/sounds/en_US_f_Allison")


@pytest.fixture(scope="module")
def bank_person(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Operator]:
    """The operator of a word bank that `record-words --from` made from the recordings."""
    if not FOLDER.exists():
        reason = "needs recordings of a person (Debian: asterisk-core-sounds-en-wav)"
        (pytest.fail if os.environ.get("CI") else pytest.skip)(reason)
    folder = tmp_path_factory.mktemp("person")
    for character, word in WORD_OF.items():
        if character.isdigit():
            shutil.copy(FOLDER / "digits" / f"{character}.wav", folder / f"{character}.wav")
        else:
            recording = FOLDER / "phonetic" / f"{character.lower()}_p.wav"
            shutil.copy(recording, folder / f"{word}.wav")
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("FAINTCALL_HOME", str(tmp_path_factory.mktemp("home")))
        arguments = ["record-words", "person", "--from", str(folder), "--consent", "the talker"]
        assert main(arguments) == 0
        yield find_operator("bank-person")


@pytest.fixture(scope="module")
def clips(bank_person: Operator) -> list[Clip]:
    """Ten calls, with nearly every letter and digit."""
    calls = compose_gate_calls(10, Random(3))
    synthesise = find_engine("bank").synthesise
    return [synthesise(call_words(call), bank_person, n) for n, call in enumerate(calls)]


def level_with_pause_db(samples: Samples, rate_hz: int) -> float:
    """Return the active level of a word, with a pause appended for the hangover of P.56."""
    return speech_level(np.pad(samples, (0, rate_hz // 2)), rate_hz).active_db


def synthesise_shuffled(words: Sequence[Word], operator: Operator, seed: int) -> Clip:
    shuffled = list(words)
    Random(seed).shuffle(shuffled)
    return find_engine("bank").synthesise(shuffled, operator, seed)


@pytest.mark.slow
def test_the_person_is_understood(bank_person: Operator) -> None:
    count = judge_operator(bank_person, find_engine("bank").synthesise, recogniser="own")
    assert count.passed, count.mistakes


def test_shuffled_words_do_not_pass_for_the_call(bank_person: Operator) -> None:
    assert judge_operator(bank_person, synthesise_shuffled, calls=5).share_right < 0.7


@pytest.mark.usefixtures("bank_person")
def test_every_saved_word_has_the_level_of_the_bank() -> None:
    bank = load_bank("person")
    assert bank is not None
    assert len(bank.words) == 36
    for word in bank.words:
        samples, rate_hz = soundfile.read(bank.path(word), dtype="float32")
        assert level_with_pause_db(samples, rate_hz) == pytest.approx(BANK_LEVEL_DB, abs=1), word


def test_the_words_of_a_call_are_equally_loud(clips: list[Clip]) -> None:
    for clip in clips:
        levels_db = []
        for word in clip.words:
            begin = max(0, round((word.start_s - 0.02) * clip.rate_hz))
            end = round((word.end_s + 0.04) * clip.rate_hz)
            levels_db.append(level_with_pause_db(clip.samples[begin:end], clip.rate_hz))
        assert max(levels_db) - min(levels_db) < 1


def test_there_are_no_clicks_where_words_are_joined(clips: list[Clip]) -> None:
    """Steps between samples where recordings begin and end, compared with those within words."""
    for clip in clips:
        steps = np.abs(np.diff(clip.samples))
        reach = round(0.010 * clip.rate_hz)
        for word in clip.words:
            for edge_s in (word.start_s - WORD_LEAD_S, word.end_s + WORD_TAIL_S):
                edge = round(edge_s * clip.rate_hz)
                nearby = steps[max(0, edge - reach) : max(0, edge + reach)]
                assert nearby.max(initial=0) < 0.01 < steps.max() / 5


@pytest.mark.usefixtures("bank_person")
def test_no_part_of_a_word_is_cut_off() -> None:
    """In a studio recording, less than 1/1000 of the energy lies outside the word's bounds."""
    for path in sorted([*FOLDER.glob("phonetic/[a-z]_p.wav"), *FOLDER.glob("digits/[0-9].wav")]):
        samples, rate_hz = soundfile.read(path)
        word = cut_word(samples, rate_hz)
        gain = 10 ** ((BANK_LEVEL_DB - word.level_db) / 20)
        energy_of_word = np.sum(np.square(word.samples / gain, dtype=np.float64)) / BANK_RATE_HZ
        voice = sosfilt(butter(4, 100, "highpass", fs=rate_hz, output="sos"), samples)
        assert energy_of_word > 0.999 * np.sum(voice**2) / rate_hz, path.name
