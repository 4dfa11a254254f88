"""Every engine keeps the same promises; a new one is held to them by a line in common.ENGINES."""

import multiprocessing
import re
from concurrent.futures import ProcessPoolExecutor, ThreadPoolExecutor
from dataclasses import replace
from itertools import pairwise
from random import Random

import numpy as np
import pytest

from drill import voices
from drill.core.errors import UserError
from drill.core.models import Clip
from drill.voices.cache import encode
from drill.voices.effects.finish import ENVELOPE_FRAME_S, envelope_db
from phonetics.message import Word
from phonetics.phrases import vocabulary
from tests.drill.voices.common import ENGINES, OVER, SHORT, cast, lack

QUICK = "formant"  # the others take seconds for many words: such tests of theirs are slow ones
FLOOR_DB = -40.0


def engines(*names: str, slow: bool = False) -> "pytest.MarkDecorator":
    """Return the parametrisation by engine; slow: those of all but the quick one are so."""
    return pytest.mark.parametrize(
        "engine",
        [
            pytest.param(name, marks=pytest.mark.slow if slow and name != QUICK else ())
            for name in names or ENGINES
        ],
    )


@pytest.fixture(autouse=True)
def here(request: pytest.FixtureRequest) -> None:
    """Leave out an engine that is not on this machine."""
    spec = getattr(request.node, "callspec", None)
    engine = spec.params.get("engine") if spec else None
    if engine and (problem := lack(engine)):
        pytest.skip(problem)


@pytest.fixture(scope="module")
def spoken(engine: str) -> Clip:
    """Return one over of each engine. Linux: the system's voice is the wheel's espeak-ng."""
    if problem := lack(engine):
        pytest.skip(problem)
    return voices.find_engine(engine).synthesise(OVER, cast(engine), 7)


def silences(clip: Clip) -> list[tuple[float, float]]:
    """Return start and end in seconds of what is silent for 50 ms or more."""
    quiet = np.concatenate(
        ([False], envelope_db(clip.samples, clip.rate_hz) < FLOOR_DB, [False])
    ).astype(np.int8)
    edges = np.flatnonzero(np.diff(quiet)) * ENVELOPE_FRAME_S
    pairs = zip(edges[::2], edges[1::2], strict=True)
    return [(float(a), float(b)) for a, b in pairs if b - a >= 0.05]


@pytest.mark.parametrize("engine", [*ENGINES, "system"], scope="module")
class TestTheClip:
    def test_the_sound_is_sound(self, spoken: Clip) -> None:
        assert spoken.samples.dtype == np.float32
        assert spoken.samples.ndim == 1
        assert spoken.rate_hz >= 16_000
        assert np.isfinite(spoken.samples).all()

    def test_the_level_is_the_one_promised(self, spoken: Clip) -> None:
        assert np.abs(spoken.samples).max() == pytest.approx(0.8, abs=1e-3)

    def test_the_ends_are_not_clipped(self, spoken: Clip) -> None:
        """It comes from nothing and goes to nothing: no click, no cut consonant."""
        edge = round(0.0005 * spoken.rate_hz)
        assert abs(spoken.samples[0]) < 1e-3
        assert abs(spoken.samples[-1]) < 1e-3
        assert np.abs(spoken.samples[:edge]).max() < 0.02
        assert np.abs(spoken.samples[-edge:]).max() < 0.02

    def test_little_silence_stays_at_the_ends(self, spoken: Clip) -> None:
        loud = (
            np.flatnonzero(envelope_db(spoken.samples, spoken.rate_hz) > FLOOR_DB)
            * ENVELOPE_FRAME_S
        )
        assert loud[0] <= 0.06
        assert spoken.seconds - loud[-1] <= 0.08

    def test_no_silence_is_longer_than_a_pause(self, spoken: Clip) -> None:
        """0.8 s at a full stop is common practice, no source."""
        assert max(b - a for a, b in silences(spoken)) < 0.8

    def test_the_pace_is_that_of_speech(self, spoken: Clip) -> None:
        """10 words and two pauses; 0.25 to 0.7 s a word is common practice, no source."""
        assert 2.5 < spoken.seconds < 7

    def test_every_word_has_its_time_in_order(self, spoken: Clip) -> None:
        assert [word.say for word in spoken.words] == [word.say for word in OVER]
        edges = [edge for word in spoken.words for edge in (word.start_s, word.end_s)]
        assert edges == sorted(edges)
        assert all(word.end_s - word.start_s > 0.05 for word in spoken.words)
        assert edges[0] >= 0
        assert edges[-1] <= spoken.seconds

    def test_a_pause_is_heard_where_it_is_written(self, spoken: Clip) -> None:
        """The gap after a comma and a full stop against the gap after a word without either."""
        gaps = [b.start_s - a.end_s for a, b in pairwise(spoken.words)]
        assert min(gaps[2], gaps[5]) > 0.05 + max(gaps[0], gaps[1], gaps[3], gaps[4])


@pytest.mark.parametrize("engine", ENGINES, scope="module")
class TestTheTimes:
    """Against energy. Not of the system's voices: their times are estimates, and said to be."""

    def test_every_word_is_heard_in_its_time(self, spoken: Clip) -> None:
        level = envelope_db(spoken.samples, spoken.rate_hz)
        for word in spoken.words:
            frames = level[
                int(word.start_s / ENVELOPE_FRAME_S) : int(word.end_s / ENVELOPE_FRAME_S)
            ]
            assert frames.max() > -20, word

    def test_the_pauses_are_between_the_words(self, spoken: Clip) -> None:
        """A silence of 0.12 s and more is no part of a word, or at most 0.1 s of it is."""
        long = [(a, b) for a, b in silences(spoken) if b - a >= 0.12]
        assert long
        for word in spoken.words:
            for a, b in long:
                assert min(word.end_s, b) - max(word.start_s, a) < 0.1, word


@engines(slow=True)
def test_twice_is_the_same(engine: str) -> None:
    voice = voices.find_engine(engine)
    assert voice.repeatable
    first, second = (voice.synthesise(SHORT, cast(engine), 7) for _ in range(2))
    assert np.array_equal(first.samples, second.samples)
    assert first.words == second.words


@engines(slow=True)
class TestRepeatable:
    def test_another_process_says_the_same(self, engine: str) -> None:
        here = voices.find_engine(engine).synthesise(OVER, cast(engine), 7)
        with ProcessPoolExecutor(1, multiprocessing.get_context("spawn")) as pool:
            there = pool.submit(say_elsewhere, engine).result()
        assert encode(here) == there

    def test_threads_say_the_same(self, engine: str) -> None:
        voice = voices.find_engine(engine)
        with ThreadPoolExecutor(3) as pool:
            clips = list(pool.map(lambda _: voice.synthesise(OVER, cast(engine), 7), range(6)))
        assert all(np.array_equal(clip.samples, clips[0].samples) for clip in clips)


def say_elsewhere(engine: str) -> bytes:
    return encode(voices.find_engine(engine).synthesise(OVER, cast(engine), 7))


@engines(slow=True)
class TestTheOperator:
    def test_it_decides_the_sound(self, engine: str) -> None:
        voice, usual = voices.find_engine(engine), cast(engine)
        accents = {"natural": "german", "formant": "british", "studio": "german"}
        others = [
            replace(usual, pitch_hz=usual.pitch_hz * 1.2),
            replace(usual, formant_scale=usual.formant_scale * 0.95),
            replace(usual, melody=usual.melody * 0.5),
            replace(usual, accent=accents[engine]),
        ]
        sounds = {voice.synthesise(OVER, each, 7).samples.tobytes() for each in (usual, *others)}
        assert len(sounds) == 5

    def test_a_quicker_pace_takes_less_time(self, engine: str) -> None:
        voice, usual = voices.find_engine(engine), cast(engine)
        slow = voice.synthesise(OVER, replace(usual, pace=0.8), 7).seconds
        quick = voice.synthesise(OVER, replace(usual, pace=1.4), 7).seconds
        assert 1.3 < slow / quick < 2.3


@engines()
def test_what_an_engine_does_not_have_is_told(engine: str) -> None:
    """The natural engine has one voice and takes any name for it."""
    wrong = {"accent": "martian"} if engine == "natural" else {"voice": "nobody"}
    (value,) = wrong.values()
    with pytest.raises(UserError, match=re.escape(repr(value))) as caught:
        voices.find_engine(engine).synthesise(SHORT, replace(cast(engine), **wrong), 1)  # type: ignore[arg-type]
    assert "\n" not in str(caught.value)


@engines(slow=True)
class TestEveryWord:
    def test_every_word_is_spoken_with_a_time_of_its_own(self, engine: str) -> None:
        """0.05 s ("you", unstressed) to 1.6 s a word is common practice, no source."""
        said, chance = sorted(vocabulary()), Random(4)
        chance.shuffle(said)
        for start in range(0, len(said), 48):
            words = [
                Word(say=say, pause=chance.choice(["", ",", "."])) for say in said[start:][:48]
            ]
            clip = voices.find_engine(engine).synthesise(words, cast(engine), start)
            assert [word.say for word in clip.words] == [word.say for word in words]
            for word in clip.words:
                assert 0.05 < word.end_s - word.start_s < 1.6, word

    def test_a_long_over_is_spoken_whole(self, engine: str) -> None:
        """Above 400 symbols the natural model's input is cut; without a pause too."""
        words = [Word(say=("november", "quebec", "twenty-six")[n % 3]) for n in range(75)]
        clip = voices.find_engine(engine).synthesise(words, cast(engine), 1)
        assert len(clip.words) == 75
        assert 20 < clip.seconds < 60
