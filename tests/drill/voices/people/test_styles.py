"""Styles do to the sound what their table says, with every engine."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.signal import welch

from drill import voices
from drill.core.errors import UserError
from drill.core.models import Clip, Item, WordTime
from drill.items.plan import Plan, compose
from drill.voices.cache import key
from drill.voices.effects.shape import sag, tilt, with_gaps
from drill.voices.engines.formant.engine import voice_file
from drill.voices.engines.natural import bend
from drill.voices.people.roster import operator
from drill.voices.people.styles import Style, shaped, styled, styles
from phonetics.message import Word
from tests.tools.voice_gate import median_pitch_hz, words_of

OVER = (*words_of("E87XQP"), Word(say="five", means="5"), Word(say="nine", means="9"))
ENGINES = {"natural": "meadow", "formant": "tin"}


@cache
def say(engine: str, style: str) -> Clip:
    return voices.utter(OVER, replace(operator(ENGINES[engine]), style=style), 7)


def slope_db(clip: Clip) -> float:
    """Return dB an octave between 300 Hz and 3 kHz: a line through the spectrum in octaves."""
    frequency, power = welch(clip.samples, clip.rate_hz, nperseg=1024)
    band = (frequency > 300) & (frequency < 3000)
    weight = 1 / np.sqrt(frequency[band])  # every octave counts alike
    return float(np.polyfit(np.log2(frequency[band]), 10 * np.log10(power[band]), 1, w=weight)[0])


def gaps_s(clip: Clip) -> list[float]:
    return [b.start_s - a.end_s for a, b in zip(clip.words, clip.words[1:], strict=False)]


def thirds_db(clip: Clip) -> float:
    """Return the level of the first third of the clip over that of its last third."""
    third = len(clip.samples) // 3
    first, last = clip.samples[:third], clip.samples[-third:]
    return float(10 * np.log10(np.mean(first**2) / np.mean(last**2)))


@pytest.mark.parametrize("engine", ENGINES)
class TestStyles:
    def test_plain_is_what_the_engine_says(self, engine: str) -> None:
        usual = operator(ENGINES[engine])
        bare = voices.find(engine).say(OVER, usual, 7)
        assert np.array_equal(say(engine, "plain").samples, bare.samples)
        assert say(engine, "plain").words == bare.words

    def test_each_has_its_pitch(self, engine: str) -> None:
        for name, style in styles().items():
            wanted = operator(ENGINES[engine]).pitch_hz * style.pitch
            assert median_pitch_hz(say(engine, name)) == pytest.approx(wanted, rel=0.12), name

    def test_each_has_its_length(self, engine: str) -> None:
        seconds = {name: say(engine, name).seconds for name in styles()}
        assert seconds["hurried"] < 0.88 * seconds["plain"]
        assert seconds["tired"] > 1.1 * seconds["plain"]
        assert seconds["crisp"] > 1.1 * seconds["plain"]

    def test_shouting_is_brighter_and_tiredness_duller(self, engine: str) -> None:
        """The table's tilt, but for what pitch and breath do to the spectrum of themselves."""
        plain = slope_db(say(engine, "plain"))
        shouted, tired = styles()["shouted"].tilt_db, styles()["tired"].tilt_db
        assert slope_db(say(engine, "shouted")) - plain == pytest.approx(shouted, abs=2.5)
        assert slope_db(say(engine, "tired")) - plain == pytest.approx(tired, abs=2.5)
        assert slope_db(say(engine, "shouted")) - plain > 1.5
        assert slope_db(say(engine, "tired")) - plain < -0.5

    def test_a_tired_over_sags(self, engine: str) -> None:
        """From the middle of the first third to that of the last: two thirds of the table's fall,
        but for what the tilt does to other vowels."""
        more_db = thirds_db(say(engine, "tired")) - thirds_db(say(engine, "plain"))
        assert more_db == pytest.approx(2 / 3 * styles()["tired"].sag_db, abs=2.5)

    def test_crisp_words_stand_apart_and_hurried_ones_close(self, engine: str) -> None:
        plain, crisp, hurried = (
            gaps_s(say(engine, name)) for name in ("plain", "crisp", "hurried")
        )
        assert min(crisp) > 0.04
        assert np.mean(crisp) > np.mean(plain) + 0.04
        assert hurried[2] < plain[2]  # the pause after the call's digit

    def test_words_stay_in_order_inside_the_clip(self, engine: str) -> None:
        for name in styles():
            clip = say(engine, name)
            edges = [edge for word in clip.words for edge in (word.start_s, word.end_s)]
            assert edges == sorted(edges)
            assert edges[0] >= 0
            assert edges[-1] <= clip.seconds
            assert np.abs(clip.samples).max() == pytest.approx(0.8, abs=1e-3)


class TestData:
    def test_every_style_says_what_it_is_and_whence(self) -> None:
        assert list(styles()) == ["plain", "crisp", "hurried", "tired", "shouted"]
        assert all(each.says and each.source for each in styles().values())
        assert styles()["plain"] == Style(
            says=styles()["plain"].says, source=styles()["plain"].source
        )

    def test_shouting_raises_pitch_by_what_is_published(self) -> None:
        """Lienard and Di Benedetto 1999: 5 Hz of pitch and 3.5 Hz of first resonance a dB of effort
        (values from memory); the table's, on a man's 120 Hz and 500 Hz, lie between 8 and 15 dB."""
        shouted = styles()["shouted"]
        assert 8 <= 120 * (shouted.pitch - 1) / 5 <= 15
        assert 8 <= 500 * (shouted.first - 1) / 3.5 <= 15

    def test_an_unknown_style_is_told(self) -> None:
        someone = replace(operator("tin"), style="sung")
        with pytest.raises(UserError, match="no style 'sung'; there are: plain, crisp"):
            voices.utter(OVER, someone, 1)

    def test_the_cache_knows_the_style(self) -> None:
        someone = operator("tin")
        names = {
            key(OVER, replace(someone, style=style), 1, engine="formant", version="1")
            for style in styles()
        }
        assert len(names) == len(styles())

    def test_records_without_a_style_load(self) -> None:
        item = compose(Plan(seed=5, voices=("tin",)), 0)
        data = item.to_dict()
        del data["operator"]["style"]
        assert Item.from_dict(data) == item

    def test_only_what_the_style_says_is_worked_in(self) -> None:
        someone = operator("slate")
        assert styled(someone) is someone
        loud = styled(replace(someone, style="shouted"))
        assert loud.pitch_hz == pytest.approx(someone.pitch_hz * 1.35, abs=0.1)
        assert (loud.tract, loud.accent, loud.voice) == (
            someone.tract, someone.accent, someone.voice,
        )  # fmt: skip


class TestFirstResonance:
    def test_the_natural_voice_moves_it_alone(self) -> None:
        """Peaks at 500 Hz and 2.4 kHz, 20 Hz a bin: the lower one moves by the factor."""
        grid = np.zeros((601, 2), np.float32)
        grid[[25, 120]] = 1
        moved = bend._warp(grid, 1.0, 1.2)
        assert moved[:100, 0].argmax() == 30
        assert 100 + moved[100:, 0].argmax() == 120

    def test_the_formant_voice_moves_it_alone(self) -> None:
        someone = operator("tin")
        loud = voice_file(replace(someone, style="shouted")).splitlines()
        usual = voice_file(someone).splitlines()
        changed = [(a, b) for a, b in zip(usual, loud, strict=True) if a != b]
        assert changed == [("formant 1 100 100 100", "formant 1 110 100 100")]


def tone(frequency_hz: float, seconds: float = 1.0, rate_hz: int = 16_000) -> Clip:
    time = np.arange(round(seconds * rate_hz)) / rate_hz
    sound = 0.8 * np.sin(2 * np.pi * frequency_hz * time)
    return Clip(samples=sound.astype(np.float32), rate_hz=rate_hz)


def beads(count: int, rate_hz: int = 16_000) -> Clip:
    """Return tones of 0.2 s as words, 0.1 s of silence between them."""
    on, off = tone(500, 0.2, rate_hz).samples, np.zeros(rate_hz // 10, np.float32)
    sound = np.concatenate([part for _ in range(count) for part in (on, off)][:-1])
    words = tuple(
        WordTime(say="x", start_s=0.3 * place, end_s=0.3 * place + 0.2) for place in range(count)
    )
    return Clip(samples=sound, rate_hz=rate_hz, words=words)


class TestShape:
    def test_the_tilt_is_what_it_says(self) -> None:
        """Of two tones an octave apart, the upper one gains 6 dB on the lower at 6 dB an octave."""
        low, high = tone(500).samples, tone(1000).samples
        both = Clip(samples=((low + high) / 2).astype(np.float32), rate_hz=16_000)
        spectrum = np.abs(np.fft.rfft(tilt(both, 6.0).samples))
        assert 20 * np.log10(spectrum[1000] / spectrum[500]) == pytest.approx(6.0, abs=0.01)

    def test_the_sag_is_what_it_says(self) -> None:
        sound = sag(tone(500, 2.0), 6.0).samples
        start, end = np.abs(sound[:320]).max(), np.abs(sound[-320:]).max()
        assert 20 * np.log10(start / end) == pytest.approx(6.0, abs=0.1)

    @given(st.lists(st.floats(-0.3, 0.3), min_size=1, max_size=6))
    def test_gaps_grow_and_shrink_as_asked(self, added_s: list[float]) -> None:
        """Of 100 ms of silence at most 70 ms are taken away, in steps of 5 ms."""
        clip = beads(len(added_s) + 1)
        changed = with_gaps(clip, added_s)
        wanted = [max(0.1 + added, 0.03) for added in added_s]
        assert gaps_s(changed) == pytest.approx(wanted, abs=0.011)
        grown = sum(want - 0.1 for want in wanted)
        assert changed.seconds - clip.seconds == pytest.approx(grown, abs=0.006 * len(wanted))
        loud = np.mean(changed.samples**2) * changed.seconds
        assert loud == pytest.approx(np.mean(clip.samples**2) * clip.seconds, rel=0.02)

    def test_an_over_said_with_other_words_keeps_its_pauses(self) -> None:
        someone = replace(operator("tin"), style="crisp")
        clip = beads(3)
        assert shaped(clip, words_of("E87XQP"), someone) is clip
        three = [Word(say="x")] * 3
        assert shaped(clip, three, someone).seconds > clip.seconds
