"""Speech from a word bank keeps the promises of every engine, and reports what it lacks.

See tests/drill/voices/engines/test_conformance.py for the promises.
"""

import multiprocessing
import os
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from drill import voices
from drill.core.errors import NoVoice, UserError
from drill.core.models import Clip, Operator
from drill.radio.levels import speech_level
from drill.voices.effects.finish import envelope_db
from drill.voices.operators import find_operator
from drill.voices.wordbank.cut import WORD_LEAD_S, WORD_TAIL_S
from drill.voices.wordbank.storage import create_bank, save_word
from phonetics.message import Word
from tests.drill.voices.tones import pauses_s
from tests.drill.voices.wordbank.conftest import OVER, RECORDED_WORDS
from tests.drill.word_recordings import CONSENT, create_bank_with, cut_example

SINGLE_WORDS = RECORDED_WORDS[:-3]
"""The recorded words that are words of OVER themselves, and not parts of "twenty-six"."""


def synthesise(operator: Operator, words: tuple[Word, ...] = OVER, seed: int = 7) -> Clip:
    return voices.find_engine("bank").synthesise(words, operator, seed)


@pytest.fixture(scope="module")
def over(bank_mine: Operator) -> Clip:
    return synthesise(bank_mine)


def word_level_in_clip_db(clip: Clip, start_s: float, end_s: float) -> float:
    """Return the active level of a word in a clip by ITU-T P.56, with a pause after the word."""
    rate_hz = clip.rate_hz
    part = clip.samples[round((start_s - 0.02) * rate_hz) : round((end_s + 0.02) * rate_hz)]
    return speech_level(np.pad(part, (0, rate_hz // 2)), rate_hz).active_db


class TestSpeech:
    def test_the_clip_has_the_promised_format(self, over: Clip) -> None:
        assert over.samples.dtype == np.float32
        assert over.rate_hz == 24_000
        assert np.abs(over.samples).max() == pytest.approx(0.8)
        assert 2.5 < over.seconds < 8

    def test_every_word_has_its_time_in_order(self, over: Clip) -> None:
        assert [time.say for time in over.words] == [word.say for word in OVER]
        edges = [edge for time in over.words for edge in (time.start_s, time.end_s)]
        assert edges == sorted(edges)
        assert all(0.1 < time.end_s - time.start_s < 1.2 for time in over.words)
        assert 0 <= edges[0] <= edges[-1] <= over.seconds

    def test_there_is_little_silence_at_the_ends(self, over: Clip) -> None:
        loud_s = np.flatnonzero(envelope_db(over.samples, over.rate_hz) > -40) * 0.005
        assert loud_s[0] <= 0.06
        assert over.seconds - loud_s[-1] <= 0.08

    def test_pauses_are_as_long_as_their_marks_say(self, over: Clip) -> None:
        pauses = pauses_s(over)
        unmarked = [pauses[index] for index in (0, 1, 3, 4, 6, 7, 8)]
        assert min(pauses[2], pauses[5]) > 0.05 + max(unmarked)
        assert pauses[5] > pauses[2]

    def test_all_words_are_equally_loud(self, over: Clip) -> None:
        levels_db = [word_level_in_clip_db(over, time.start_s, time.end_s) for time in over.words]
        assert max(levels_db) - min(levels_db) < 1

    def test_there_are_no_clicks_where_words_are_joined(self, over: Clip) -> None:
        """Around each start and end, samples differ by no more than in a quiet room.

        A cut through a vowel would make a step of 0.1 and more.
        """
        steps = np.abs(np.diff(over.samples))
        reach = round(0.012 * over.rate_hz)
        for time in over.words:
            for edge_s in (time.start_s - WORD_LEAD_S, time.end_s + WORD_TAIL_S):
                edge = round(edge_s * over.rate_hz)
                nearby = steps[max(0, edge - reach) : edge + reach]
                assert nearby.max(initial=0) < 0.02, (time, edge_s)

    def test_the_same_call_gives_the_same_samples(self, bank_mine: Operator, over: Clip) -> None:
        again = synthesise(bank_mine)
        assert np.array_equal(again.samples, over.samples)
        assert again.words == over.words
        assert voices.find_engine("bank").repeatable

    @pytest.mark.slow
    def test_another_process_gives_the_same_samples(self, bank_mine: Operator, over: Clip) -> None:
        with ProcessPoolExecutor(1, multiprocessing.get_context("spawn")) as pool:
            samples = pool.submit(synthesise_in_process, os.environ["FAINTCALL_HOME"]).result()
        assert over.samples.tobytes() == samples

    def test_the_pace_changes_only_the_pauses(self, bank_mine: Operator, over: Clip) -> None:
        quick = synthesise(replace(bank_mine, pace=1.6))
        assert quick.seconds < over.seconds - 0.3
        for usual_time, quick_time in zip(over.words, quick.words, strict=True):
            if usual_time.say != "twenty-six":
                usual_s = usual_time.end_s - usual_time.start_s
                assert usual_s == pytest.approx(quick_time.end_s - quick_time.start_s, abs=1e-3)

    @given(
        said=st.lists(st.sampled_from(SINGLE_WORDS), min_size=1, max_size=8),
        pauses=st.lists(st.sampled_from(["", ",", "."]), min_size=8, max_size=8),
        pace=st.floats(0.5, 2),
        seed=st.integers(0, 2**48),
    )
    def test_any_recorded_words_are_said_at_any_pace(
        self, bank_mine: Operator, said: list[str], pauses: list[str], pace: float, seed: int
    ) -> None:
        words = tuple(Word(say=say, pause=mark) for say, mark in zip(said, pauses, strict=False))
        clip = synthesise(replace(bank_mine, pace=pace), words, seed)
        assert [time.say for time in clip.words] == said
        assert np.isfinite(clip.samples).all()
        assert np.abs(clip.samples).max() == pytest.approx(0.8)
        for time in clip.words:
            assert time.end_s - time.start_s > 0.1


def synthesise_in_process(home: str) -> bytes:
    os.environ["FAINTCALL_HOME"] = home
    return synthesise(find_operator("bank-mine")).samples.tobytes()


class TestProblems:
    def test_a_missing_word_is_reported_with_the_command_that_records_it(
        self, bank_mine: Operator
    ) -> None:
        with pytest.raises(NoVoice, match=r"'zulu'.*record-words mine --only zulu$"):
            synthesise(bank_mine, (Word(say="zulu"),))
        with pytest.raises(NoVoice, match="'thirty'"):
            synthesise(bank_mine, (Word(say="thirty-six"),))

    def test_an_accent_is_refused(self, bank_mine: Operator) -> None:
        with pytest.raises(UserError, match="accent 'german'"):
            synthesise(replace(bank_mine, accent="german"))

    def test_without_a_bank_the_engine_says_how_to_record_one(self, home: Path) -> None:
        assert "faintcall record-words NAME" in voices.find_engine("bank").problem()
        create_bank("new", CONSENT)
        assert voices.find_engine("bank").problem() == ""

    @pytest.mark.parametrize("damage", ["deleted", "cut short"])
    def test_a_missing_or_damaged_file_is_reported(self, home: Path, damage: str) -> None:
        recording = cut_example()
        bank = create_bank("new", CONSENT)
        bank = save_word(bank, "alfa", recording.samples, recording.seconds)
        if damage == "deleted":
            bank.path("alfa").unlink()
        else:
            bank.path("alfa").write_bytes(b"RIFF")
        with pytest.raises(NoVoice, match=r"cannot be read.*--only alfa"):
            synthesise(find_operator("bank-new"), (Word(say="alfa"),))


def test_speech_of_a_bank_is_not_cached(bank_mine: Operator, home: Path) -> None:
    create_bank_with("new", ["alfa"])
    voices.speak([Word(say="alfa")], find_operator("bank-new"), 1)
    assert not (home / "cache").exists()


def test_a_changed_bank_has_another_version(home: Path) -> None:
    bank = create_bank("new", CONSENT)
    engine = voices.find_engine("bank")
    versions = {engine.version}
    for seed in (1, 2):
        recording = cut_example(seed)
        bank = save_word(bank, "alfa", recording.samples, recording.seconds)
        versions.add(engine.version)
    assert len(versions) == 3
