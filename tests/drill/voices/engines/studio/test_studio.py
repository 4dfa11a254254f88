"""The studio voice: its model is the pinned one, its people and the user's own voices are found."""

import hashlib
from collections.abc import Callable
from dataclasses import replace
from importlib.resources import files
from pathlib import Path
from random import Random

import numpy as np
import pytest

from drill import voices
from drill.core.errors import UserError
from drill.core.models import Operator
from drill.core.paths import data_folder
from drill.voices.diagnostics import own_operators
from drill.voices.engines.studio import model, voice_files
from drill.voices.engines.studio.engine import with_pauses
from drill.voices.engines.studio.voice_files import PREFIX, own_names, own_voice
from drill.voices.operators import draw_operator, find_operator, find_operators
from drill.voices.people.roster import ROSTER, STUDIO_GROUP
from tests.drill.voices.common import OVER, SHORT, lack
from tests.tools.voice_gate import median_pitch_hz

installed = pytest.mark.skipif(bool(lack("studio")), reason="the extra `natural` is not installed")
PEOPLE = find_operators([STUDIO_GROUP])
ROWS = np.random.default_rng(1).uniform(-0.5, 0.5, (510, 256)).astype("<f4")


class TestPeople:
    def test_they_are_people_of_this_engine_with_names_of_their_own(self) -> None:
        names = [each.name for each in (*PEOPLE, *ROSTER)]
        assert len(set(names)) == len(names)
        assert len(PEOPLE) >= 35
        assert {each.engine for each in PEOPLE} == {"studio"}
        for each in PEOPLE:
            assert not [one for one in names if one != each.name and one.startswith(each.name)]

    def test_each_has_a_voice_and_all_english_voices_have_a_person(self) -> None:
        used = {each.voice for each in PEOPLE}
        english = {name for name in voice_files.voice_names() if name[0] in "ab"}
        assert english <= used <= set(voice_files.voice_names())

    def test_they_are_found_by_name_and_never_drawn_unasked(self) -> None:
        for each in PEOPLE:
            assert find_operator(each.name) == each
        drawn = {draw_operator(Random(seed), None).engine for seed in range(200)}
        assert "studio" not in drawn


class TestVectors:
    def test_the_file_is_the_one_that_the_cache_knows(self) -> None:
        """54 voices in npm's kokoro-js 1.2.1: see drill/voices/data/SOURCES.md."""
        content = (files("drill.voices") / "data" / "studio_voices.npy").read_bytes()
        assert hashlib.sha256(content).hexdigest() == voice_files.VOICES_SHA256
        assert len(voice_files.voice_names()) == 54

    def test_no_two_voices_are_the_same(self) -> None:
        rows = {voice_files.voice(name)[0].tobytes() for name in voice_files.voice_names()}
        assert len(rows) == 54


class TestPauses:
    """On a tone of 1 s, three words of a third each; the pauses asked for are silence put in."""

    TONE = 0.5 * np.sin(2 * np.pi * 200 * np.arange(24_000) / 24_000)
    SPANS = (("a", 0.0, 0.3), ("b", 0.35, 0.6), ("c", 0.65, 1.0))

    def test_without_a_mark_nothing_is_changed(self) -> None:
        sound, spans = with_pauses(self.TONE, self.SPANS, ["", "", ""])
        assert np.array_equal(sound, self.TONE)
        assert tuple(spans) == self.SPANS

    def test_silence_is_put_where_a_voice_runs_on(self) -> None:
        sound, spans = with_pauses(self.TONE, self.SPANS, [",", ".", "."])
        quiet = 0.12 + 0.25 - 0.01  # but for a frame of 5 ms at each place, taken for quiet
        assert len(sound) == pytest.approx(len(self.TONE) + quiet * 24_000, abs=2)
        for (_, _, end), (_, start, _), least in zip(spans, spans[1:], (0.12, 0.25), strict=False):
            assert start - end == pytest.approx(least, abs=1e-6)
            inner = sound[round((end + 0.005) * 24_000) : round((start - 0.005) * 24_000)]
            assert not inner.any()
        assert spans[-1][2] == pytest.approx(len(sound) / 24_000, abs=0.006)
        assert np.abs(np.diff(sound)).max() < 0.03  # a tone's own steps: no click

    def test_silence_that_is_there_is_not_made_longer(self) -> None:
        gone = self.TONE.copy()
        gone[round(0.28 * 24_000) : round(0.42 * 24_000)] = 0
        sound, spans = with_pauses(gone, self.SPANS, [",", "", ""])
        assert np.array_equal(sound, gone)
        assert spans[0][2] == pytest.approx(0.28, abs=0.006)
        assert spans[1][1] == pytest.approx(0.41, abs=0.02)


def as_bin(path: Path, numbers: np.ndarray) -> None:
    path.with_suffix(".bin").write_bytes(numbers.astype("<f4").tobytes())


def as_npy(path: Path, numbers: np.ndarray) -> None:
    np.save(path.with_suffix(".npy"), numbers)


@pytest.fixture
def folder(home: Path) -> Path:
    path = data_folder() / "voices"
    path.mkdir(parents=True)
    return path


class TestOwnVoices:
    def test_without_a_folder_there_are_none(self, home: Path) -> None:
        assert own_names() == ()
        with pytest.raises(UserError, match="'alex'"):
            find_operator("studio-alex")

    @pytest.mark.parametrize("write", [as_bin, as_npy])
    @pytest.mark.parametrize("shape", [(510, 256), (510, 1, 256), (256,), (1, 256)])
    def test_a_file_becomes_a_voice(
        self, folder: Path, write: Callable[..., None], shape: tuple[int, ...]
    ) -> None:
        whole = shape[0] == 510
        write(folder / "alex", (ROWS if whole else ROWS[40]).reshape(shape))
        assert own_names() == ("alex",)
        found = find_operator("studio-alex")
        assert (found.name, found.engine) == ("studio-alex", "studio")
        vector, _ = voice_files.voice(found.voice)
        assert np.array_equal(vector, ROWS[40])

    def test_an_item_is_never_told_in_another_voice(self, folder: Path) -> None:
        as_bin(folder / "alex", ROWS)
        made_with = find_operator("studio-alex").voice
        as_bin(folder / "alex", ROWS[::-1])
        assert find_operator("studio-alex").voice != made_with
        with pytest.raises(UserError, match="not the one that this was made with"):
            voice_files.voice(made_with)

    @pytest.mark.parametrize(
        ("name", "content", "told"),
        [
            ("short.bin", b"1234", "1 numbers"),
            ("odd.bin", b"12345", "cannot be read"),
            ("empty.npy", b"", "cannot be read"),
            ("text.npy", b"hello, I am a text and no array at all", "cannot be read"),
            ("zeros.bin", bytes(1024), "damaged"),
            ("nan.bin", np.full(256, np.nan, "<f4").tobytes(), "damaged"),
            ("huge.bin", np.full(256, 1e9, "<f4").tobytes(), "damaged"),
            ("My Voice.bin", ROWS.tobytes(), "a to z"),
        ],
    )
    def test_a_bad_file_is_a_line_in_the_listing(
        self, folder: Path, name: str, content: bytes, told: str
    ) -> None:
        (folder / name).write_bytes(content)
        as_bin(folder / "good", ROWS)
        good, bad = own_operators()
        assert [each.name for each in good] == ["studio-good"]
        (line,) = bad
        assert told in line
        assert name in line
        assert "\n" not in line

    def test_a_pickle_is_never_opened(self, folder: Path) -> None:
        np.save(folder / "evil.npy", np.array([print], dtype=object))
        with pytest.raises(UserError, match="cannot be read"):
            own_voice("evil")

    @installed
    @pytest.mark.slow
    def test_it_speaks(self, folder: Path) -> None:
        vector, _ = voice_files.voice("am_onyx")
        as_bin(folder / "mine", vector)
        clip = voices.find_engine("studio").synthesise(OVER, find_operator(PREFIX + "mine"), 1)
        assert median_pitch_hz(clip) < 110  # a low voice, as it is


@installed
class TestBending:
    @pytest.mark.slow
    @pytest.mark.parametrize("factor", [0.88, 1.14])
    @pytest.mark.parametrize("name", ["thunder", "dawn"])
    def test_pitch_is_the_one_asked_for_whatever_the_tract(self, name: str, factor: float) -> None:
        usual = find_operator(name)
        bent = replace(usual, pitch_hz=usual.pitch_hz * factor, formant_scale=1 / factor)
        clip = voices.find_engine("studio").synthesise(OVER, bent, 1)
        assert median_pitch_hz(clip) == pytest.approx(bent.pitch_hz, rel=0.10)

    @pytest.mark.slow
    @pytest.mark.parametrize("tract", [0.9, 1.1])
    def test_the_tract_moves_the_resonances_and_hardly_the_length(self, tract: float) -> None:
        """The long-time spectrum stands where the tract says; durations are in units of 25 ms."""
        usual = find_operator("squall")
        plain, bent = (
            voices.find_engine("studio").synthesise(OVER, replace(usual, formant_scale=each), 1)
            for each in (1.0, tract)
        )
        assert bent.seconds == pytest.approx(plain.seconds, rel=0.08)
        assert shift(plain.samples, bent.samples) == pytest.approx(tract, abs=0.02)

    @pytest.mark.parametrize("tract", [0.5, 1.5])
    def test_a_tract_out_of_range_is_told(self, tract: float) -> None:
        with pytest.raises(UserError, match=f"tract {tract:g}"):
            voices.find_engine("studio").synthesise(
                SHORT, replace(find_operator("squall"), formant_scale=tract), 1
            )


POINTS, MOST = 400, 40


def shift(one: np.ndarray, other: np.ndarray) -> float:
    """Return the factor by which the second spectrum lies higher, 300 to 6000 Hz, at 24 kHz."""
    first, second = smooth_spectrum(one), smooth_spectrum(other)

    def likeness(by: int) -> float:
        moved = second[MOST + by : POINTS - MOST + by]
        return float(np.corrcoef(first[MOST:-MOST], moved)[0, 1])

    best = max(range(-MOST, MOST + 1), key=likeness)
    return float(np.exp(best * np.log(6000 / 300) / (POINTS - 1)))


def smooth_spectrum(samples: np.ndarray) -> np.ndarray:
    """Return the long-time spectrum in dB on a log axis, smoothed so that harmonics merge."""
    frames = np.lib.stride_tricks.sliding_window_view(samples.astype(float), 2048)[::512]
    power = np.mean(np.abs(np.fft.rfft(frames * np.hanning(2048))) ** 2, axis=0)
    smooth = np.convolve(10 * np.log10(power), np.ones(15) / 15, "same")
    at_hz = np.geomspace(300, 6000, POINTS)
    return np.asarray(np.interp(at_hz, np.fft.rfftfreq(2048, 1 / 24_000), smooth))


@pytest.mark.slow
@installed
@pytest.mark.parametrize("each", PEOPLE, ids=lambda each: each.name)
def test_the_pitch_is_the_one_asked_for(each: Operator) -> None:
    clip = voices.find_engine("studio").synthesise(OVER, each, 7)
    assert median_pitch_hz(clip) == pytest.approx(each.pitch_hz, rel=0.10)


@installed
def test_another_model_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "part.bin").write_bytes(b"something else")
    monkeypatch.setattr(model, "_path", lambda package: tmp_path)
    assert "not the one that was tested" in voices.find_engine("studio").problem()
    (tmp_path / "part.bin").unlink()
    assert "cannot be read" in voices.find_engine("studio").problem()
