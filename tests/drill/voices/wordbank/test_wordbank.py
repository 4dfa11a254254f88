"""Word banks: recordings are cut and levelled, kept safely, and joined into speech."""

import contextlib
import multiprocessing
import os
from collections.abc import Callable, Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from pathlib import Path
from random import Random
from typing import Any

import numpy as np
import pytest
import soundfile
from hypothesis import given, settings
from hypothesis import strategies as st

from drill import voices
from drill.core import audio_files
from drill.core.errors import NoVoice, UserError
from drill.core.models import Clip, Operator
from drill.radio.levels import speech_level
from drill.voices.effects.finish import envelope_db
from drill.voices.people.roster import draw_operator, operator
from drill.voices.wordbank import engine as bank
from drill.voices.wordbank import folder as bank_folder
from drill.voices.wordbank import words as bank_words
from drill.voices.wordbank.cut import (
    LEAD_S,
    LEVEL_DB,
    RATE_HZ,
    TAIL_S,
    cut,
    is_clipped,
    level_of,
)
from drill.voices.wordbank.room import background
from phonetics.message import Word
from phonetics.phrases import vocabulary
from phonetics.rewording import ESSENTIAL
from tests.drill import recordings
from tests.drill.recordings import CONSENT, bank_of, noise, recorded, word

OVER = (
    Word(say="echo", means="E"), Word(say="eight", means="8"),
    Word(say="seven", means="7", pause=","), Word(say="x-ray", means="X"),
    Word(say="quebec", means="Q"), Word(say="papa", means="P", pause="."),
    Word(say="five", means="5"), Word(say="nine", means="9"),
    Word(say="twenty-six", means="26"), Word(say="over"),
)  # fmt: skip
SAID = [
    "echo",
    "eight",
    "seven",
    "x-ray",
    "quebec",
    "papa",
    "five",
    "nine",
    "twenty",
    "six",
    "over",
]


@pytest.fixture(scope="module")
def mine(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Operator]:
    """Return the operator of a bank that holds the words of OVER, in a home of its own."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("FAINTCALL_HOME", str(tmp_path_factory.mktemp("bank")))
        bank_of("mine", SAID)
        yield operator("bank-mine")


@pytest.fixture(scope="module")
def over(mine: Operator) -> Clip:
    return voices.find("bank").say(OVER, mine, 7)


def heard_db(clip: Clip, start_s: float, end_s: float) -> float:
    """Return the active level of a word of a clip, by P.56, a pause after it."""
    rate = clip.rate_hz
    part = clip.samples[round((start_s - 0.02) * rate) : round((end_s + 0.02) * rate)]
    return speech_level(np.pad(part, (0, rate // 2)), rate).active_db


class TestSpeech:
    """The promises that every engine keeps; see tests/drill/voices/engines/test_conformance.py."""

    def test_the_sound_is_sound(self, over: Clip) -> None:
        assert over.samples.dtype == np.float32
        assert over.rate_hz == 24_000
        assert np.abs(over.samples).max() == pytest.approx(0.8)
        assert 2.5 < over.seconds < 8

    def test_every_word_has_its_time_in_order(self, over: Clip) -> None:
        assert [each.say for each in over.words] == [each.say for each in OVER]
        edges = [edge for each in over.words for edge in (each.start_s, each.end_s)]
        assert edges == sorted(edges)
        assert all(0.1 < each.end_s - each.start_s < 1.2 for each in over.words)
        assert 0 <= edges[0] <= edges[-1] <= over.seconds

    def test_little_silence_stays_at_the_ends(self, over: Clip) -> None:
        loud = np.flatnonzero(envelope_db(over.samples, over.rate_hz) > -40) * 0.005
        assert loud[0] <= 0.06
        assert over.seconds - loud[-1] <= 0.08

    def test_pauses_are_where_they_are_written(self, over: Clip) -> None:
        gaps = [b.start_s - a.end_s for a, b in zip(over.words, over.words[1:], strict=False)]
        usual = [gaps[place] for place in (0, 1, 3, 4, 6, 7, 8)]
        assert min(gaps[2], gaps[5]) > 0.05 + max(usual)
        assert gaps[5] > gaps[2]

    def test_the_words_are_equally_loud(self, over: Clip) -> None:
        levels = [heard_db(over, each.start_s, each.end_s) for each in over.words]
        assert max(levels) - min(levels) < 1

    def test_no_join_clicks(self, over: Clip) -> None:
        """Around every start and end the steps between samples are those of a quiet room.

        A cut through a vowel would make a step of its own height: 0.1 and more.
        """
        steps = np.abs(np.diff(over.samples))
        for each in over.words:
            for edge, side in ((each.start_s - LEAD_S, -1), (each.end_s + TAIL_S, 1)):
                at = round(edge * over.rate_hz)
                reach = round(0.012 * over.rate_hz)
                near = steps[max(0, at - reach) : at + reach]
                assert near.max(initial=0) < 0.02, (each, side)

    def test_the_same_again(self, mine: Operator, over: Clip) -> None:
        again = voices.find("bank").say(OVER, mine, 7)
        assert np.array_equal(again.samples, over.samples)
        assert again.words == over.words
        assert voices.find("bank").repeatable

    def test_another_process_says_the_same(self, mine: Operator, over: Clip) -> None:
        with ProcessPoolExecutor(1, multiprocessing.get_context("spawn")) as pool:
            there = pool.submit(say_elsewhere, os.environ["FAINTCALL_HOME"]).result()
        assert over.samples.tobytes() == there

    def test_pace_moves_the_pauses_and_nothing_else(self, mine: Operator, over: Clip) -> None:
        quick = voices.find("bank").say(OVER, replace(mine, pace=1.6), 7)
        assert quick.seconds < over.seconds - 0.3
        for a, b in zip(over.words, quick.words, strict=True):
            if a.say != "twenty-six":
                assert a.end_s - a.start_s == pytest.approx(b.end_s - b.start_s, abs=1e-3)

    @settings(deadline=None)
    @given(
        said=st.lists(st.sampled_from(SAID[:-3]), min_size=1, max_size=8),
        pauses=st.lists(st.sampled_from(["", ",", "."]), min_size=8, max_size=8),
        pace=st.floats(0.5, 2),
        seed=st.integers(0, 2**48),
    )
    def test_any_words_at_any_pace(
        self, mine: Operator, said: list[str], pauses: list[str], pace: float, seed: int
    ) -> None:
        words = [Word(say=a, pause=b) for a, b in zip(said, pauses, strict=False)]
        clip = voices.find("bank").say(words, replace(mine, pace=pace), seed)
        assert [each.say for each in clip.words] == said
        assert np.isfinite(clip.samples).all()
        assert np.abs(clip.samples).max() == pytest.approx(0.8)
        for each in clip.words:
            assert each.end_s - each.start_s > 0.1


def say_elsewhere(home: str) -> bytes:
    os.environ["FAINTCALL_HOME"] = home
    return voices.find("bank").say(OVER, operator("bank-mine"), 7).samples.tobytes()


class TestLack:
    def test_a_word_that_lacks_is_told_with_the_command(self, mine: Operator) -> None:
        with pytest.raises(NoVoice, match=r"'zulu'.*record-words mine --only zulu$"):
            voices.find("bank").say([Word(say="zulu")], mine, 1)
        with pytest.raises(NoVoice, match="'thirty'"):
            voices.find("bank").say([Word(say="thirty-six")], mine, 1)

    def test_what_lacks_is_listed_once(self, mine: Operator) -> None:
        words = [*OVER, Word(say="zulu"), Word(say="fower"), Word(say="zulu")]
        assert bank.lacking(words, mine) == ("zulu", "fower")
        assert bank.lacking(words, operator("tin")) == ()

    def test_the_words_are_put_otherwise(self, mine: Operator) -> None:
        words = (Word(say="niner", means="9"), Word(say="roger"), Word(say="echo", means="E"))
        assert [each.say for each in bank.reworded(words, mine)] == ["nine", "echo"]
        assert bank.reworded(words, operator("tin")) == words

    def test_a_bank_that_is_gone(self, mine: Operator) -> None:
        """Its operator stays the same, so that old records can be read."""
        gone = operator("bank-gone")
        assert gone == replace(mine, name="bank-gone", voice="gone")
        assert draw_operator(Random(1), ["bank-gone"]) == gone
        with pytest.raises(NoVoice, match=r"'gone' is not on this machine.*record-words gone"):
            voices.find("bank").say(OVER, gone, 1)
        with pytest.raises(UserError, match="'bank-gone'; there are: bank-mine"):
            bank.check_ready(gone)

    def test_a_bank_without_the_essential_words_is_not_ready(self, mine: Operator) -> None:
        with pytest.raises(UserError, match=r"lacks \d+ of the 37 .*record-words mine"):
            bank.check_ready(mine)
        bank.check_ready(operator("tin"))

    def test_a_name_that_is_none(self) -> None:
        with pytest.raises(UserError, match=r"'\.\./x'"):
            operator("bank-../x")

    def test_an_accent_is_not_to_be_had(self, mine: Operator) -> None:
        with pytest.raises(UserError, match="accent 'german'"):
            voices.find("bank").say(OVER, replace(mine, accent="german"), 1)

    def test_without_a_bank_the_engine_says_how_to_make_one(self, home: Path) -> None:
        assert "faintcall record-words NAME" in voices.find("bank").problem()
        assert bank.bank_operators() == ()
        bank_folder.create("new", CONSENT)
        assert voices.find("bank").problem() == ""
        assert [each.name for each in bank.bank_operators()] == ["bank-new"]

    @pytest.mark.parametrize("how", ["gone", "damaged"])
    def test_a_file_that_is_not_there_is_told(self, home: Path, how: str) -> None:
        made = cut(recorded(word()), recordings.RATE_HZ)
        new = bank_folder.keep(
            bank_folder.create("new", CONSENT), "alfa", made.samples, made.seconds
        )
        if how == "gone":
            new.path("alfa").unlink()
        else:
            new.path("alfa").write_bytes(b"RIFF")
        with pytest.raises(NoVoice, match=r"cannot be read.*--only alfa"):
            voices.find("bank").say([Word(say="alfa")], operator("bank-new"), 1)

    def test_its_speech_is_in_no_cache(self, mine: Operator, home: Path) -> None:
        bank_of("new", ["alfa"])
        voices.speak([Word(say="alfa")], operator("bank-new"), 1)
        assert not (home / "cache").exists()


class TestCut:
    @settings(deadline=None)
    @given(
        seconds=st.floats(0.25, 1.2), level_db=st.floats(-35, -12), pitch_hz=st.floats(90, 300),
        margins=st.tuples(st.floats(0.1, 1), st.floats(0.1, 1)), noise_db=st.floats(-90, -65),
    )  # fmt: skip
    def test_a_word_is_found_and_levelled(
        self,
        seconds: float,
        level_db: float,
        pitch_hz: float,
        margins: tuple[float, float],
        noise_db: float,
    ) -> None:
        said = word(seconds, level_db, pitch_hz)
        sound = recorded(said, before=margins[0], after=margins[1], noise_db=noise_db)
        made = cut(sound, recordings.RATE_HZ)
        assert made.seconds == pytest.approx(seconds, abs=0.05)
        assert len(made.samples) == round((made.seconds + LEAD_S + TAIL_S) * RATE_HZ)
        assert level_of(made.samples) == pytest.approx(LEVEL_DB, abs=0.1)
        assert np.abs(made.samples).max() <= 0.98
        assert abs(float(made.samples[0])) < 1e-3
        assert abs(float(made.samples[-1])) < 1e-3
        assert not made.faults

    @settings(deadline=None)
    @given(
        st.lists(st.floats(-1, 1, width=32), max_size=4000),
        st.sampled_from([8_000, 11_025, 44_100, 48_000, 96_000]),
    )
    def test_anything_else_is_told_in_a_line(self, samples: list[float], rate_hz: int) -> None:
        try:
            made = cut(np.array(samples), rate_hz)
        except UserError as error:
            assert "\n" not in str(error)
        else:
            assert np.isfinite(made.samples).all()

    @pytest.mark.parametrize("rate_hz", [8_000, 22_050, 44_100, 96_000])
    def test_any_rate_is_taken(self, rate_hz: int) -> None:
        sound = np.pad(word(0.5, rate_hz=rate_hz), rate_hz // 4)
        made = cut(sound, rate_hz)
        assert made.seconds == pytest.approx(0.5, abs=0.03)

    @pytest.mark.parametrize(
        ("sound", "told"),
        [
            (np.zeros(8000), "no sound"),
            (np.array([]), "no sound"),
            (np.array([np.nan]), "no sound"),
            (np.pad(word(0.05), 4000), "no word"),
        ],
    )
    def test_what_holds_no_word_is_refused(self, sound: recordings.Sound, told: str) -> None:
        with pytest.raises(UserError, match=told):
            cut(sound, 16_000)

    def test_a_room_alone_is_no_word(self) -> None:
        with pytest.raises(UserError, match="stands out"):
            cut(noise(3, -50), 16_000, noise_db=-50.0)

    def test_a_rate_out_of_range_is_refused(self) -> None:
        with pytest.raises(UserError, match="rate 4000 Hz"):
            cut(word(), 4000)

    def test_a_key_before_the_word_is_cut_away(self) -> None:
        key = noise(0.01, -15)
        sound = recorded(np.concatenate((key, np.zeros(3200), word(0.5))), noise_db=-75)
        assert cut(sound, 16_000).seconds == pytest.approx(0.5, abs=0.05)

    def test_a_stop_within_a_word_stays(self) -> None:
        """As in "eight": 100 ms of closure, then a short burst."""
        sound = np.concatenate((word(0.3), np.zeros(1600), noise(0.03, -25)))
        assert cut(recorded(sound), 16_000).seconds == pytest.approx(0.43, abs=0.05)

    @pytest.mark.parametrize(
        ("sound", "fault"),
        [
            (np.clip(recorded(10 * word()), -1, 1), "clipped"),
            (np.clip(recorded(word()), -0.2, 0.2), "clipped"),
            (recorded(word(0.5, -50), noise_db=-90), "too soft, -5"),
            (recorded(word(0.5, -30), noise_db=-42), "too noisy"),
            (recorded(word())[round(0.5 * 16_000) :], "cut off at the start"),
            (recorded(word())[: round(0.8 * 16_000)], "cut off at the end"),
            (
                recorded(np.concatenate((word(), np.zeros(8000), word(0.4)))),
                "more than one word",
            ),
            (recorded(word(3.0)), "long, 3.0 s"),
        ],
    )
    def test_every_fault_is_told(self, sound: recordings.Sound, fault: str) -> None:
        assert any(each.startswith(fault) for each in cut(sound, 16_000).faults)

    def test_a_loud_sine_is_not_clipped(self) -> None:
        time = np.arange(16_000) / 16_000
        assert not is_clipped(0.9 * np.sin(2 * np.pi * 200 * time))
        assert is_clipped(np.clip(1.2 * np.sin(2 * np.pi * 200 * time), -1, 1))

    def test_hum_is_cut_away(self) -> None:
        """Mains of 50 Hz as strong as the voice changes neither bounds nor level by much."""
        sound = recorded(word(0.5, -25, pitch_hz=150))
        hum = 10 ** (-30 / 20) * np.sin(2 * np.pi * 50 * np.arange(len(sound)) / 16_000)
        plain, hummed = cut(sound, 16_000), cut(sound + hum, 16_000)
        assert hummed.seconds == pytest.approx(plain.seconds, abs=0.03)
        assert hummed.level_db == pytest.approx(plain.level_db, abs=0.5)


class TestBackground:
    @pytest.mark.parametrize(
        ("level_db", "verdict"), [(-70, "quiet enough"), (-50, "it will do"), (-35, "too noisy")]
    )
    def test_the_level_is_measured(self, level_db: float, verdict: str) -> None:
        room = background(noise(2, level_db), 16_000)
        assert room.level_db == pytest.approx(level_db, abs=1)
        assert room.hum_hz == 0
        assert verdict in room.sentence

    @pytest.mark.parametrize("mains_hz", [50.0, 60.0])
    def test_hum_is_told_from_noise(self, mains_hz: float) -> None:
        """Three harmonics of 0.005, 0.004, 0.003: 10 lg(sum of squares / 2) is -46 dB."""
        time = np.arange(32_000) / 16_000
        parts = [(1, 0.005), (2, 0.004), (3, 0.003)]
        hum = sum(a * np.sin(2 * np.pi * n * mains_hz * time) for n, a in parts)
        room = background(noise(2, -70) + np.asarray(hum), 16_000)
        assert room.hum_hz == mains_hz
        assert room.hum_db == pytest.approx(-46.0, abs=1)
        assert f"{mains_hz:.0f} Hz mains" in room.sentence

    def test_too_little_is_refused(self) -> None:
        with pytest.raises(UserError, match="half a second"):
            background(noise(0.1, -50), 16_000)


def one_word(seed: int = 0) -> tuple[np.ndarray[tuple[int], np.dtype[np.float32]], float]:
    made = cut(recorded(word(), seed=seed), recordings.RATE_HZ)
    return made.samples, made.seconds


class TestFolder:
    def test_what_is_kept_is_read_again(self, home: Path) -> None:
        new = bank_folder.create("new", CONSENT)
        new = bank_folder.keep(new, "alfa", *one_word())
        again = bank_folder.load("new")
        assert again == new
        assert again.consent == CONSENT
        assert again.says("alfa")
        assert not again.says("bravo")
        clip = audio_files.read(again.path("alfa"))
        assert clip.rate_hz == RATE_HZ
        assert np.abs(clip.samples - one_word()[0]).max() < 1 / 32_000

    def test_a_retake_replaces_the_file(self, home: Path) -> None:
        new = bank_folder.create("new", CONSENT)
        first = bank_folder.keep(new, "you're", *one_word(1))
        second = bank_folder.keep(first, "you're", *one_word(2))
        same = bank_folder.keep(second, "you're", *one_word(2))
        assert not first.path("you're").exists()
        assert same.path("you're").exists()
        assert len(list(new.folder.glob("*.wav"))) == 1

    def test_two_who_record_lose_nothing(self, home: Path) -> None:
        new = bank_folder.create("new", CONSENT)
        bank_folder.keep(new, "alfa", *one_word(1))
        assert set(bank_folder.keep(new, "bravo", *one_word(2)).words) == {"alfa", "bravo"}

    def test_a_changed_bank_is_another_version(self, home: Path) -> None:
        new = bank_folder.create("new", CONSENT)
        engine = voices.find("bank")
        versions = {engine.version}
        for seed in (1, 2):
            new = bank_folder.keep(new, "alfa", *one_word(seed))
            versions.add(engine.version)
        assert len(versions) == 3

    @pytest.mark.parametrize("at", range(8))
    def test_ended_at_any_moment_a_bank_holds_the_old_take_or_the_new(
        self, home: Path, at: int
    ) -> None:
        """What no code here catches, at the n-th use of the disk: as a kill leaves it."""
        old = bank_folder.keep(bank_folder.create("new", CONSENT), "alfa", *one_word(1))
        with pytest.MonkeyPatch.context() as patch:
            left = Ending(at, patch)
            with contextlib.suppress(Killed):
                bank_folder.keep(old, "alfa", *one_word(2))
            assert left.uses == 0 or at >= 5
        after = bank_folder.load("new")
        assert after is not None
        assert after.consent == CONSENT
        clip = audio_files.read(after.path("alfa"))
        wanted = one_word(1 if after == old else 2)[0]
        assert np.abs(clip.samples - wanted).max() < 1 / 32_000

    def test_deleted_is_gone(self, home: Path) -> None:
        new = bank_folder.keep(bank_folder.create("new", CONSENT), "alfa", *one_word())
        bank_folder.delete(new)
        assert not new.folder.exists()
        assert bank_folder.load("new") is None
        assert bank_folder.names() == ()

    @pytest.mark.parametrize("name", ["", "..", "A", "a/b", "-x", "ä", "x" * 40, "a b"])
    def test_a_name_that_is_none_is_refused(self, name: str, home: Path) -> None:
        with pytest.raises(UserError, match="no name for a bank"):
            bank_folder.create(name, CONSENT)

    def test_a_name_that_is_taken_is_refused(self, home: Path) -> None:
        bank_folder.create("new", CONSENT)
        with pytest.raises(UserError, match="already"):
            bank_folder.create("new", CONSENT)

    @settings(max_examples=30, deadline=None)
    @given(st.text(max_size=70))
    def test_any_speakers_name_is_kept_or_refused(self, speaker: str) -> None:
        try:
            consent = replace(CONSENT, speaker=speaker)
        except UserError as error:
            assert "\n" not in str(error)
            return
        with pytest.MonkeyPatch.context() as patch:
            import tempfile

            with tempfile.TemporaryDirectory() as folder:
                patch.setenv("FAINTCALL_HOME", folder)
                bank_folder.create("new", consent)
                loaded = bank_folder.load("new")
        assert loaded is not None
        assert loaded.consent.speaker == speaker

    @pytest.mark.parametrize(
        "content",
        [
            b"", b"\xff", b"schema = [", b"schema = 1", b"schema = 9\nrate_hz = 24000",
            b"schema = 1\nrate_hz = 24000\nlevel_db = -26.0\nwords = 3\nconsent = 3",
            b'schema = 1\nrate_hz = 24000\nlevel_db = -26.0\n[consent]\nspeaker = "a"\nat = "b"\n'
            b'[words]\nalfa = { file = "../../x.wav", seconds = 1.0 }',
        ],
    )  # fmt: skip
    def test_a_damaged_bank_is_told_in_a_line(self, content: bytes, home: Path) -> None:
        new = bank_folder.create("new", CONSENT)
        (new.folder / bank_folder.FILE).write_bytes(content)
        with pytest.raises(UserError, match=r"bank\.toml") as caught:
            bank_folder.load("new")
        assert "\n" not in str(caught.value)


class Killed(BaseException):
    pass


class Ending:
    """Ends what runs at the n-th use of the disk."""

    def __init__(self, uses: int, patch: pytest.MonkeyPatch) -> None:
        self.uses = uses
        for owner, name in (
            (soundfile, "write"), (Path, "replace"), (Path, "unlink"), (Path, "write_text"),
        ):  # fmt: skip
            patch.setattr(owner, name, self._counted(getattr(owner, name)))

    def _counted(self, real: Callable[..., Any]) -> Callable[..., Any]:
        def use(*given: Any, **named: Any) -> Any:
            if not self.uses:
                raise Killed
            self.uses -= 1
            return real(*given, **named)

        return use


class TestWords:
    def test_every_word_that_can_be_said_has_its_place_once(self) -> None:
        listed = [each for group in bank_words.groups() for each in group.words]
        assert len(listed) == len(set(listed))
        parts = {part for each in vocabulary() for part in bank_words.parts_of(each)}
        assert set(listed) == parts

    def test_the_essential_words_come_first(self) -> None:
        assert bank_words.essential() == tuple(ESSENTIAL.values())
        assert [group.optional for group in bank_words.groups()] == [False] + [True] * 6

    @pytest.mark.parametrize(
        ("stem", "meant"),
        [
            ("alfa", "alfa"), ("Alpha", "alfa"), ("ALFA", "alfa"), ("a", "alfa"), ("9", "nine"),
            ("nine", "nine"), ("Niner", "niner"), ("wun", "one"), ("x ray", "x-ray"),
            ("xray", "x-ray"), ("X_Ray", "x-ray"), ("juliet", "juliett"), ("whisky", "whiskey"),
            ("12-zulu", "zulu"), ("03_charlie", "charlie"), ("26", "twenty-six"), ("40", "forty"),
            ("12", "twelve"), ("twenty-six", "twenty-six"), ("oh", "oh"), ("portable", "portable"),
            ("hello world", ""), ("kelp", ""), ("", ""), ("100", ""), ("9_p", ""),
            (" bravo ", "bravo"),
        ],
    )  # fmt: skip
    def test_common_file_names_are_read(self, stem: str, meant: str) -> None:
        assert bank_words.word_of(stem) == meant

    @settings(deadline=None)
    @given(st.text(max_size=20))
    def test_any_file_name_is_a_word_or_none(self, stem: str) -> None:
        assert bank_words.word_of(stem) in vocabulary() | {""}

    def test_own_words_can_be_added(self) -> None:
        assert bank_words.word_of("Kelp", ("kelp",)) == "kelp"
