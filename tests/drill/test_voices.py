"""Every engine keeps the same promises; the cache gives back what was made."""

import multiprocessing
import re
import subprocess
import sys
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor, ThreadPoolExecutor
from dataclasses import replace
from importlib.metadata import EntryPoint, EntryPoints
from pathlib import Path
from random import Random

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from drill import voices
from drill.errors import NoVoice, UserError
from drill.items import Clip, Operator, WordTime
from drill.voices import bend, formant, natural, pronounce, system
from drill.voices.cache import SpeechCache, decode, encode, key
from drill.voices.finish import envelope_db, finish
from drill.voices.gate import median_pitch_hz
from drill.voices.roster import ROSTER, draw_operator, operator
from drill.voices.style import styled
from drill.voices.system import estimated_spans, system_operator, system_voices
from phonetics.message import Word
from phonetics.phrases import vocabulary

OVER = (
    Word(say="echo", means="E", field="call"),
    Word(say="eight", means="8", field="call"),
    Word(say="seven", means="7", field="call", pause=","),
    Word(say="x-ray", means="X", field="call"),
    Word(say="quebec", means="Q", field="call"),
    Word(say="papa", means="P", field="call", pause="."),
    Word(say="you're"),
    Word(say="five", means="5", field="report"),
    Word(say="nine", means="9", field="report"),
    Word(say="twenty-six", means="26", field="zone"),
)
ENGINES = {"natural": "copper", "formant": "tin"}


def cast(engine: str) -> Operator:
    if engine == "system":
        return system_operator(system_voices()[0].operator_name)
    return operator(ENGINES[engine])


@pytest.fixture(scope="module", params=["natural", "formant", "system"])
def spoken(request: pytest.FixtureRequest) -> Clip:
    """Return one over of each engine. Linux: the system's voice is the wheel's espeak-ng."""
    engine = request.param
    if engine == "system" and sys.platform != "linux":
        problem = voices.find("system").problem()
        if problem:
            pytest.skip(problem)
    return voices.find(engine).say(OVER, cast(engine), 7)


class TestEveryEngine:
    def test_the_sound_is_sound(self, spoken: Clip) -> None:
        assert spoken.samples.dtype == np.float32
        assert spoken.samples.ndim == 1
        assert spoken.rate_hz >= 16_000
        assert np.isfinite(spoken.samples).all()
        assert 0.5 < np.abs(spoken.samples).max() <= 0.9

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

    def test_little_silence_stays_at_the_ends(self, spoken: Clip) -> None:
        loud = np.flatnonzero(envelope_db(spoken.samples, spoken.rate_hz) > -40) * 0.005
        assert loud[0] <= 0.06
        assert spoken.seconds - loud[-1] <= 0.08

    def test_a_pause_is_heard_where_it_is_written(self, spoken: Clip) -> None:
        """The gap after a comma and a full stop against the gap after a word without either."""
        gaps = [b.start_s - a.end_s for a, b in zip(spoken.words, spoken.words[1:], strict=False)]
        assert min(gaps[2], gaps[5]) > 0.05 + max(gaps[0], gaps[1], gaps[3], gaps[4])


@pytest.mark.parametrize("engine", ENGINES)
class TestRepeatable:
    def test_twice_is_the_same(self, engine: str) -> None:
        voice = voices.find(engine)
        assert voice.repeatable
        first, second = (voice.say(OVER, cast(engine), 7) for _ in range(2))
        assert np.array_equal(first.samples, second.samples)
        assert first.words == second.words

    def test_another_process_says_the_same(self, engine: str) -> None:
        here = voices.find(engine).say(OVER, cast(engine), 7)
        with ProcessPoolExecutor(1, multiprocessing.get_context("spawn")) as pool:
            there = pool.submit(say_elsewhere, engine).result()
        assert encode(here) == there

    def test_threads_say_the_same(self, engine: str) -> None:
        voice = voices.find(engine)
        with ThreadPoolExecutor(3) as pool:
            clips = list(pool.map(lambda _: voice.say(OVER, cast(engine), 7), range(6)))
        assert all(np.array_equal(clip.samples, clips[0].samples) for clip in clips)

    def test_the_operator_decides_the_sound(self, engine: str) -> None:
        voice, usual = voices.find(engine), cast(engine)
        others = [
            replace(usual, pitch_hz=usual.pitch_hz * 1.2),
            replace(usual, tract=usual.tract * 0.95),
            replace(usual, melody=usual.melody * 0.5),
            replace(usual, accent={"natural": "german", "formant": "british"}[engine]),
        ]
        sounds = {voice.say(OVER, each, 7).samples.tobytes() for each in (usual, *others)}
        assert len(sounds) == 5

    def test_a_quicker_pace_takes_less_time(self, engine: str) -> None:
        voice, usual = voices.find(engine), cast(engine)
        slow = voice.say(OVER, replace(usual, pace=0.8), 7).seconds
        quick = voice.say(OVER, replace(usual, pace=1.4), 7).seconds
        assert 1.3 < slow / quick < 2.3


def say_elsewhere(engine: str) -> bytes:
    return encode(voices.find(engine).say(OVER, cast(engine), 7))


@pytest.mark.parametrize("each", ROSTER[::4], ids=lambda each: each.name)
def test_the_pitch_is_the_one_asked_for(each: Operator) -> None:
    clip = voices.utter(OVER, each, 7)
    assert median_pitch_hz(clip) == pytest.approx(styled(each).pitch_hz, rel=0.10)


@pytest.mark.parametrize("pitch_hz", [80, 113, 160, 226, 320])
def test_the_pitch_meter_reads_a_known_pitch(pitch_hz: float) -> None:
    """A sum of ten harmonics has the pitch that its formula says."""
    time = np.arange(24_000) / 24_000
    tone = sum(np.sin(2 * np.pi * n * pitch_hz * time + n) / n for n in range(1, 11))
    clip = Clip(samples=(0.3 * np.asarray(tone)).astype(np.float32), rate_hz=24_000)
    assert median_pitch_hz(clip) == pytest.approx(pitch_hz, rel=0.01)


class TestRoster:
    @pytest.mark.parametrize("engine", ENGINES)
    def test_a_lower_voice_has_a_longer_tract(self, engine: str) -> None:
        people = [each for each in ROSTER if each.engine == engine]
        pitch = np.log([each.pitch_hz for each in people])
        assert np.corrcoef(pitch, [each.tract for each in people])[0, 1] > 0.9

    def test_pace_multiplies(self) -> None:
        quick = draw_operator(Random(1), ["slate"], pace=1.2)
        assert quick == replace(operator("slate"), pace=round(operator("slate").pace * 1.2, 3))

    @pytest.mark.parametrize(
        ("names", "pace", "told"),
        [
            (["nobody"], 1, "nobody"),
            ([], 1, "no operator"),
            (None, 3, "3"),
            (["slate"], 0.1, "0.1"),
        ],
    )
    def test_a_wrong_choice_is_told(self, names: list[str] | None, pace: float, told: str) -> None:
        with pytest.raises(UserError, match=told):
            draw_operator(Random(1), names, pace=pace)


class TestLack:
    def test_an_unknown_engine_is_told_with_those_there_are(self) -> None:
        with pytest.raises(NoVoice, match="'brass'; there are: bank, formant, natural, system"):
            voices.find("brass")

    @pytest.mark.parametrize(
        ("module", "remedy"),
        [
            (natural, "pip install hibari-tts"),
            (formant, "pip install espeakng-loader"),
            (system, "pip install pyttsx3"),
        ],
    )
    def test_a_missing_package_is_told_with_the_remedy(
        self, module: object, remedy: str, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        name = str(getattr(module, "__name__", "")).rpartition(".")[2]
        system_voices.cache_clear()
        natural._model_bytes.cache_clear()
        monkeypatch.setattr(module, "find_spec", lambda asked: None)
        voice = voices.find(name)
        assert remedy in voice.problem()
        assert "\n" not in voice.problem()
        speaker = Operator(name="x", engine=name, voice="klatt2", pitch_hz=120)
        if name != "natural":  # whose model may be running already
            with pytest.raises(NoVoice, match=remedy):
                voice.say(OVER, speaker, 1)

    def test_another_model_is_refused(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        (tmp_path / "hibari.onnx").write_bytes(b"something else")
        monkeypatch.setattr(natural, "_assets", lambda: tmp_path)
        natural._model_bytes.cache_clear()
        assert "not the one that was tested" in voices.find("natural").problem()
        natural._model_bytes.cache_clear()

    def test_operators_of_a_missing_engine_are_left_out(
        self, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        assert {each.engine for each in voices.usable_operators()} == {"natural", "formant"}
        natural._model_bytes.cache_clear()
        monkeypatch.setattr(natural, "find_spec", lambda name: None)
        assert {each.engine for each in voices.usable_operators()} == {"formant"}
        with pytest.raises(NoVoice, match="hibari-tts"):
            voices.usable_operators([operator("slate")])

    def test_an_engine_that_cannot_be_imported_is_told(
        self, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        broken = EntryPoints([EntryPoint("lost", "no_such_module_here:X", voices.GROUP)])
        monkeypatch.setattr("importlib.metadata.entry_points", broken.select)
        with pytest.raises(NoVoice, match="no_such_module_here"):
            voices.find("lost")

    @pytest.mark.parametrize("worker", ["raise SystemExit(3)", "import time; time.sleep(60)"])
    def test_a_worker_that_dies_or_hangs_is_told(
        self, worker: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        (tmp_path / "formant_worker.py").write_text(worker, "utf-8")
        monkeypatch.setattr("drill.voices.worker.__file__", str(tmp_path / "worker.py"))
        monkeypatch.setattr(formant, "LIMIT_S", 1.0)
        with pytest.raises(NoVoice, match="formant voice failed") as caught:
            voices.find("formant").say(OVER, operator("tin"), 1)
        assert "\n" not in str(caught.value)

    def test_a_voice_that_an_engine_lacks_is_told(self) -> None:
        for change, told in (
            (replace(operator("tin"), voice="klatt9"), "voice 'klatt9'"),
            (replace(operator("tin"), accent="martian"), "accent 'martian'"),
        ):
            with pytest.raises(UserError, match=told):
                voices.find("formant").say(OVER, change, 1)
        with pytest.raises(UserError, match="accent 'martian'"):
            voices.find("natural").say(OVER, replace(operator("slate"), accent="martian"), 1)

    def test_a_system_voice_that_is_not_there_is_told(self) -> None:
        with pytest.raises(UserError, match="system-nobody-at-all"):
            operator("system-nobody-at-all")

    def test_a_word_that_cannot_be_read_is_told(self) -> None:
        with pytest.raises(UserError, match="letters"):
            voices.find("natural").say([Word(say="---")], operator("slate"), 1)


def test_a_long_path_to_the_library_is_no_obstacle(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """espeak-ng 1.52 keeps its data folder in char[160]; a deep environment passes that."""
    deep = tmp_path / ("d" * 100) / ("e" * 100)
    deep.mkdir(parents=True)
    folder = formant._library().parent
    for part in (formant._library().name, "espeak-ng-data"):
        (deep / part).symlink_to(folder / part)
    usual = voices.find("formant").say(OVER, operator("tin"), 3)
    monkeypatch.setattr(formant, "_library", lambda: deep / next(deep.glob("*espeak-ng.*")).name)
    assert np.array_equal(
        voices.find("formant").say(OVER, operator("tin"), 3).samples, usual.samples
    )


@pytest.mark.parametrize("engine", ENGINES)
class TestEveryWord:
    def test_every_word_is_spoken_with_a_time_of_its_own(self, engine: str) -> None:
        """0.05 s ("you", unstressed) to 1.6 s a word is common practice, no source."""
        said, chance = sorted(vocabulary()), Random(4)
        chance.shuffle(said)
        for start in range(0, len(said), 48):
            words = [
                Word(say=say, pause=chance.choice(["", ",", "."])) for say in said[start:][:48]
            ]
            clip = voices.find(engine).say(words, cast(engine), start)
            assert [word.say for word in clip.words] == [word.say for word in words]
            for word in clip.words:
                assert 0.05 < word.end_s - word.start_s < 1.6, word

    def test_a_long_over_is_spoken_whole(self, engine: str) -> None:
        """Above 400 symbols the natural model's input is cut; without a pause too."""
        words = [Word(say=("november", "quebec", "twenty-six")[n % 3]) for n in range(75)]
        clip = voices.find(engine).say(words, cast(engine), 1)
        assert len(clip.words) == 75
        assert 20 < clip.seconds < 60


class TestPronunciation:
    @pytest.mark.parametrize("accent", ["", *pronounce.accents()])
    def test_every_word_is_in_the_table_and_in_the_alphabet(self, accent: str) -> None:
        symbols = set(natural._session()[1])
        for say in sorted(vocabulary()):
            assert pronounce.known(say), f"{say!r} has no pronunciation"
            spoken = pronounce.phonemes(say, accent)
            assert set(spoken) <= symbols, f"{say!r}: {set(spoken) - symbols}"
            assert not set(spoken) & set(" ,."), say

    def test_a_number_is_put_together(self) -> None:
        assert pronounce.known("twenty-six").endswith(pronounce.known("six"))
        assert pronounce.known("twenty-nobody") == ""

    def test_a_word_from_outside_is_read_and_spoken(self) -> None:
        assert not pronounce.known("kelp")
        clip = voices.find("natural").say([Word(say="kelp")], operator("slate"), 1)
        assert 0.2 < clip.seconds < 1.5

    @pytest.mark.parametrize(
        ("say", "last"), [("papa", 2), ("quebec", 2), ("juliett", 3), ("hotel", 2), ("echo", 1)]
    )
    def test_the_stress_is_that_of_the_standard(self, say: str, last: int) -> None:
        """Which vowel has the main stress: the syllables in capitals of ITU RR Appendix 14 are
        PAH PAH with the second underlined, KEH BECK, JEW LEE ETT, HO TELL, ECK OH."""
        before = pronounce.known(say).partition(pronounce.MAIN_STRESS)[0]
        assert (
            len(re.findall("[aeiouAIOWY\\u00e6\\u0250-\\u025c\\u026a\\u028a\\u028c]", before))
            == last - 1
        )


class TestBend:
    def test_the_resonances_move_by_the_tract(self) -> None:
        """A peak at bin 100 of a flat grid stands at bin 90 after tract 0.9."""
        grid = np.zeros((601, 3), np.float32)
        grid[100] = 1
        assert bend._warp(grid, 0.9)[:, 0].argmax() == 90
        assert bend._warp(grid, 1.0) is grid

    def test_melody_spreads_the_pitch_on_a_log_axis(self) -> None:
        curve = np.array([0, 100, 200, 400], np.float32)
        person = replace(operator("copper"), pitch_hz=200.0, melody=0.5)
        bent = bend._bend_pitch(curve, person)
        assert bent == pytest.approx([0, 200 / 2**0.5, 200, 200 * 2**0.5], rel=1e-5)


class TestFinish:
    @given(
        spans=st.lists(st.tuples(st.floats(-1, 5), st.floats(-1, 5)), max_size=12),
        seconds=st.floats(0.05, 3),
    )
    def test_times_are_put_in_order(self, spans: list[tuple[float, float]], seconds: float) -> None:
        sound = np.sin(np.arange(int(8000 * seconds)))
        clip = finish(sound, 8000, [("x", a, b) for a, b in spans])
        edges = [edge for word in clip.words for edge in (word.start_s, word.end_s)]
        assert edges == sorted(edges)
        assert len(clip.words) == len(spans)
        assert all(word.start_s < word.end_s for word in clip.words)
        assert not edges or (edges[0] >= 0 and edges[-1] <= clip.seconds + 1e-9)

    @pytest.mark.parametrize("bad", [[], [0.0, 0.0], [0.1, float("nan")], [float("inf")]])
    def test_no_sound_is_told(self, bad: list[float]) -> None:
        with pytest.raises(NoVoice, match="no sound"):
            finish(np.array(bad), 8000, [])

    def test_the_guess_finds_the_pause(self) -> None:
        """Noise of 1 s and 0.5 s with 0.3 s of silence between: two words and one."""
        noise = np.random.default_rng(0).standard_normal(16_000).astype(np.float32)
        sound = np.concatenate((noise[:8000], np.zeros(2400, np.float32), noise[:4000]))
        said = [Word(say="abc"), Word(say="abc", pause=","), Word(say="abc")]
        spans = estimated_spans(said, sound, 8000)
        assert [round(edge, 2) for _, a, b in spans for edge in (a, b)] == [
            0,
            0.5,
            0.5,
            1,
            1.3,
            1.8,
        ]


def small_clip(seed: int, size: int = 2000) -> Clip:
    samples = np.random.default_rng(seed).uniform(-1, 1, size).astype(np.float32)
    return Clip(
        samples=samples, rate_hz=8000, words=(WordTime(say="x", start_s=0.1 / 3, end_s=0.2),)
    )


def same(a: Clip, b: Clip) -> bool:
    return np.array_equal(a.samples, b.samples) and (a.rate_hz, a.words) == (b.rate_hz, b.words)


def write_many(folder: str) -> list[bytes]:
    cache = SpeechCache(Path(folder), limit_bytes=40_000)
    return [encode(cache.get(f"{n % 20}", lambda n=n: small_clip(n % 20))) for n in range(200)]  # type: ignore[misc]


class TestCache:
    def test_a_hit_equals_a_miss(self, tmp_path: Path) -> None:
        cache = SpeechCache(tmp_path / "new")
        first = cache.get("a", lambda: small_clip(1))
        second = cache.get("a", refuse)
        assert same(first, second)
        assert np.abs(first.samples - small_clip(1).samples).max() <= 0.51 / 32767

    def test_speak_goes_through_it(self, home: Path) -> None:
        spoken = voices.speak(OVER, operator("tin"), 3)
        (file,) = (home / "cache" / "speech").iterdir()
        assert same(decode(file.read_bytes()), spoken)
        assert same(voices.speak(OVER, operator("tin"), 3), spoken)

    @pytest.mark.parametrize("where", [0, 10, 120, -1])
    def test_a_damaged_entry_is_made_again(self, where: int, tmp_path: Path) -> None:
        cache = SpeechCache(tmp_path)
        good = cache.get("a", lambda: small_clip(1))
        (path,) = tmp_path.iterdir()
        content = bytearray(path.read_bytes())
        content[where] ^= 0x55
        for damaged in (bytes(content), bytes(content[:where]), b"", b"[]\n", b"\xff\xfe"):
            path.write_bytes(damaged)
            assert same(cache.get("a", lambda: small_clip(1)), good)
            assert same(cache.get("a", refuse), good)

    def test_it_stays_within_its_bound_and_drops_the_least_used(self, tmp_path: Path) -> None:
        size = len(encode(small_clip(0)))
        cache = SpeechCache(tmp_path, limit_bytes=10 * size)
        for number in range(30):
            cache.get(f"{number}", lambda number=number: small_clip(number))  # type: ignore[misc]
            cache.get("0", lambda: small_clip(0))
            assert sum(path.stat().st_size for path in tmp_path.iterdir()) <= 10.1 * size
        cache.get("0", refuse)
        cache.get("29", refuse)

    def test_two_processes_share_it(self, tmp_path: Path) -> None:
        with ProcessPoolExecutor(2, multiprocessing.get_context("spawn")) as pool:
            results = list(pool.map(write_many, [str(tmp_path)] * 2))
        wanted = [encode(decode(encode(small_clip(n % 20)))) for n in range(200)]
        assert results == [wanted, wanted]
        assert not [path for path in tmp_path.iterdir() if path.suffix != ".speech"]

    def test_an_unwritable_folder_is_no_error(self, tmp_path: Path) -> None:
        (tmp_path / "file").write_text("in the way", "utf-8")
        cache = SpeechCache(tmp_path / "file" / "speech")
        assert same(cache.get("a", lambda: small_clip(1)), cache.get("a", lambda: small_clip(1)))

    def test_the_key_holds_all_that_decides_the_sound(self) -> None:
        usual = operator("tin")

        def name(
            words: Sequence[Word] = OVER, each: Operator = usual, seed: int = 1,
            engine: str = "formant", version: str = "1",
        ) -> str:  # fmt: skip
            return key(words, each, seed, engine=engine, version=version)

        others = [
            name(words=OVER[1:]), name(seed=2), name(engine="x"), name(version="2"),
            name(words=(replace(OVER[0], pause=","), *OVER[1:])),
            name(each=replace(usual, voice="klatt4")), name(each=replace(usual, pitch_hz=99.0)),
            name(each=replace(usual, tract=0.9)), name(each=replace(usual, pace=0.9)),
            name(each=replace(usual, breath_db=1.0)), name(each=replace(usual, melody=0.9)),
            name(each=replace(usual, accent="british")),
        ]  # fmt: skip
        assert len({name(), *others}) == len(others) + 1
        assert name(each=replace(usual, name="other")) == name()
        assert name(words=[replace(word, means="", field="") for word in OVER]) == name()


def refuse() -> Clip:
    raise AssertionError("the clip should have been there")


def test_the_door_is_light() -> None:
    code = (
        "import sys, drill.voices as v; v.names(); "
        "print(sorted({'numpy', 'onnx', 'hibari', 'pyttsx3', 'scipy'} & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
