"""Every engine keeps the promises of the SpeechEngine protocol.

A new engine is tested after its entry in tests.drill.voices.common.ENGINES.
"""

import multiprocessing
import re
from concurrent.futures import ProcessPoolExecutor, ThreadPoolExecutor
from dataclasses import replace
from itertools import pairwise
from random import Random

import numpy as np
import pytest

from drill import voices
from drill.core.arrays import true_runs
from drill.core.errors import UserError
from drill.core.models import Clip
from drill.voices.cache import encode_clip
from drill.voices.effects.finish import ENVELOPE_FRAME_S, envelope_db
from phonetics.message import Word
from phonetics.phrases import message_vocabulary
from tests.drill.voices.common import ENGINES, OVER, SHORT, example_operator, missing_reason

SLOW_ENGINES = ("studio",)
SILENCE_DB = -40.0


def for_each_engine(*more: str, share: bool = False) -> "pytest.MarkDecorator":
    """Return the parametrisation by engine; slow engines are marked slow.

    more: engines beyond ENGINES. share: one clip of each engine serves all tests of the module.
    """
    return pytest.mark.parametrize(
        "engine",
        [
            pytest.param(name, marks=pytest.mark.slow if name in SLOW_ENGINES else ())
            for name in (*ENGINES, *more)
        ],
        scope="module" if share else None,
    )


@pytest.fixture(autouse=True)
def skip_missing_engine(request: pytest.FixtureRequest) -> None:
    spec = getattr(request.node, "callspec", None)
    engine = spec.params.get("engine") if spec else None
    if engine and (problem := missing_reason(engine)):
        pytest.skip(problem)


@pytest.fixture(scope="module")
def clip(engine: str) -> Clip:
    """Return one over of each engine."""
    if problem := missing_reason(engine):
        pytest.skip(problem)
    return voices.find_engine(engine).synthesise(OVER, example_operator(engine), 7)


def silences(clip: Clip) -> list[tuple[float, float]]:
    """Return start and end in seconds of the silences of 50 ms or more."""
    frames = true_runs(envelope_db(clip.samples, clip.rate_hz) < SILENCE_DB)
    spans = [(first * ENVELOPE_FRAME_S, end * ENVELOPE_FRAME_S) for first, end in frames]
    return [(start, end) for start, end in spans if end - start >= 0.05]


@for_each_engine("system", share=True)
class TestClip:
    def test_the_samples_are_finite_and_the_rate_is_high_enough(self, clip: Clip) -> None:
        assert clip.samples.dtype == np.float32
        assert clip.samples.ndim == 1
        assert clip.rate_hz >= 16_000
        assert np.isfinite(clip.samples).all()

    def test_the_peak_is_the_one_promised(self, clip: Clip) -> None:
        assert np.abs(clip.samples).max() == pytest.approx(0.8, abs=1e-3)

    def test_the_ends_neither_click_nor_cut_a_consonant(self, clip: Clip) -> None:
        edge = round(0.0005 * clip.rate_hz)
        assert abs(clip.samples[0]) < 1e-3
        assert abs(clip.samples[-1]) < 1e-3
        assert np.abs(clip.samples[:edge]).max() < 0.02
        assert np.abs(clip.samples[-edge:]).max() < 0.02

    def test_there_is_little_silence_at_the_ends(self, clip: Clip) -> None:
        loud = np.flatnonzero(envelope_db(clip.samples, clip.rate_hz) > SILENCE_DB)
        assert loud[0] * ENVELOPE_FRAME_S <= 0.06
        assert clip.seconds - loud[-1] * ENVELOPE_FRAME_S <= 0.08

    def test_no_silence_is_longer_than_a_pause(self, clip: Clip) -> None:
        """0.8 s at a full stop is common practice, no source."""
        assert max(end - start for start, end in silences(clip)) < 0.8

    def test_the_pace_is_that_of_speech(self, clip: Clip) -> None:
        """10 words and two pauses; 0.25 to 0.7 s per word is common practice, no source."""
        assert 2.5 < clip.seconds < 7

    def test_every_word_has_its_time_in_order(self, clip: Clip) -> None:
        assert [word.say for word in clip.words] == [word.say for word in OVER]
        edges = [edge for word in clip.words for edge in (word.start_s, word.end_s)]
        assert edges == sorted(edges)
        assert all(word.end_s - word.start_s > 0.05 for word in clip.words)
        assert edges[0] >= 0
        assert edges[-1] <= clip.seconds

    def test_a_punctuation_mark_makes_a_pause(self, clip: Clip) -> None:
        """The gap after a comma or a full stop is longer than the gap after a plain word."""
        gaps = [b.start_s - a.end_s for a, b in pairwise(clip.words)]
        assert min(gaps[2], gaps[5]) > 0.05 + max(gaps[0], gaps[1], gaps[3], gaps[4])


@for_each_engine(share=True)
class TestWordTimes:
    """Word times against the energy; those of the system's voices are only estimates."""

    def test_every_word_sounds_in_its_time(self, clip: Clip) -> None:
        level_db = envelope_db(clip.samples, clip.rate_hz)
        for word in clip.words:
            first, end = (int(t / ENVELOPE_FRAME_S) for t in (word.start_s, word.end_s))
            assert level_db[first:end].max() > -20, word

    def test_the_pauses_are_between_the_words(self, clip: Clip) -> None:
        """At most 0.1 s of a silence of 0.12 s or more belongs to a word."""
        pauses = [(start, end) for start, end in silences(clip) if end - start >= 0.12]
        assert pauses
        for word in clip.words:
            for start, end in pauses:
                assert min(word.end_s, end) - max(word.start_s, start) < 0.1, word


@for_each_engine()
class TestRepeatable:
    def test_the_same_call_gives_the_same_samples(self, engine: str) -> None:
        voice = voices.find_engine(engine)
        assert voice.repeatable
        first, second = (voice.synthesise(SHORT, example_operator(engine), 7) for _ in range(2))
        assert np.array_equal(first.samples, second.samples)
        assert first.words == second.words

    @pytest.mark.slow
    def test_another_process_gives_the_same_samples(self, engine: str) -> None:
        with ProcessPoolExecutor(1, multiprocessing.get_context("spawn")) as pool:
            other = pool.submit(synthesise_and_encode, engine).result()
        assert synthesise_and_encode(engine) == other

    def test_threads_give_the_same_samples(self, engine: str) -> None:
        voice, operator = voices.find_engine(engine), example_operator(engine)
        with ThreadPoolExecutor(3) as pool:
            clips = list(pool.map(lambda _: voice.synthesise(OVER, operator, 7), range(6)))
        assert all(np.array_equal(clip.samples, clips[0].samples) for clip in clips)


def synthesise_and_encode(engine: str) -> bytes:
    return encode_clip(voices.find_engine(engine).synthesise(OVER, example_operator(engine), 7))


@for_each_engine()
class TestOperator:
    def test_each_value_changes_the_samples(self, engine: str) -> None:
        voice, operator = voices.find_engine(engine), example_operator(engine)
        accents = {"natural": "german", "formant": "british", "studio": "german"}
        operators = [
            operator,
            replace(operator, pitch_hz=operator.pitch_hz * 1.2),
            replace(operator, formant_scale=operator.formant_scale * 0.95),
            replace(operator, melody=operator.melody * 0.5),
            replace(operator, accent=accents[engine]),
        ]
        sounds = {voice.synthesise(OVER, other, 7).samples.tobytes() for other in operators}
        assert len(sounds) == len(operators)

    def test_a_quicker_pace_takes_less_time(self, engine: str) -> None:
        voice, operator = voices.find_engine(engine), example_operator(engine)
        slow = voice.synthesise(OVER, replace(operator, pace=0.8), 7).seconds
        quick = voice.synthesise(OVER, replace(operator, pace=1.4), 7).seconds
        assert 1.3 < slow / quick < 2.3


@for_each_engine()
def test_an_unknown_voice_or_accent_is_an_error(engine: str) -> None:
    """The natural engine has one voice and accepts any name for it."""
    wrong = {"accent": "martian"} if engine == "natural" else {"voice": "nobody"}
    (value,) = wrong.values()
    operator = replace(example_operator(engine), **wrong)  # type: ignore[arg-type]
    with pytest.raises(UserError, match=re.escape(repr(value))) as caught:
        voices.find_engine(engine).synthesise(SHORT, operator, 1)
    assert "\n" not in str(caught.value)


@for_each_engine()
class TestEveryWord:
    @pytest.mark.slow
    def test_every_word_is_spoken_with_a_time_of_its_own(self, engine: str) -> None:
        """0.05 s ("you", unstressed) to 1.6 s a word is common practice, no source."""
        vocabulary, rng = sorted(message_vocabulary()), Random(4)
        rng.shuffle(vocabulary)
        for start in range(0, len(vocabulary), 48):
            words = [
                Word(say=say, pause=rng.choice(["", ",", "."])) for say in vocabulary[start:][:48]
            ]
            clip = voices.find_engine(engine).synthesise(words, example_operator(engine), start)
            assert [word.say for word in clip.words] == [word.say for word in words]
            for word in clip.words:
                assert 0.05 < word.end_s - word.start_s < 1.6, word

    @pytest.mark.slow
    def test_a_long_over_is_spoken_to_its_end(self, engine: str) -> None:
        """The over has no pause and exceeds 400 symbols, which a model takes at once."""
        words = [Word(say=("november", "quebec", "twenty-six")[n % 3]) for n in range(75)]
        clip = voices.find_engine(engine).synthesise(words, example_operator(engine), 1)
        assert len(clip.words) == 75
        assert 20 < clip.seconds < 60
