"""Every engine's speech has the vocal styles that the data file defines."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from scipy.signal import welch

from drill import voices
from drill.core.errors import UserError
from drill.core.models import Clip, Item
from drill.core.structuring import from_data, to_data
from drill.items.plan import Plan, compose_item
from drill.voices.cache import cache_key
from drill.voices.operators import find_operator
from drill.voices.people.styles import (
    VocalStyle,
    apply_style_to_clip,
    apply_style_to_operator,
    vocal_styles,
)
from phonetics.message import Word
from tests.drill.voices.tones import pauses_s, tone_words
from tests.tools.pitch import median_pitch_hz
from tests.tools.voice_gate.calls import call_words

OVER = (*call_words("E87XQP"), Word(say="five", means="5"), Word(say="nine", means="9"))
ENGINES = {"natural": "meadow", "formant": "tin"}
"""An operator with the plain style for each engine."""


@cache
def speak_in_style(engine: str, style: str) -> Clip:
    return voices.speak_uncached(
        OVER, replace(find_operator(ENGINES[engine]), vocal_style=style), 7
    )


def slope_db_per_octave(clip: Clip) -> float:
    """Return the slope of a line through the spectrum from 300 Hz to 3 kHz."""
    frequency, power = welch(clip.samples, clip.rate_hz, nperseg=1024)
    band = (frequency > 300) & (frequency < 3000)
    weight = 1 / np.sqrt(frequency[band])  # every octave counts the same
    return float(np.polyfit(np.log2(frequency[band]), 10 * np.log10(power[band]), 1, w=weight)[0])


def fall_over_thirds_db(clip: Clip) -> float:
    """Return the level of the first third of the clip above that of its last third."""
    third = len(clip.samples) // 3
    first, last = clip.samples[:third], clip.samples[-third:]
    return float(10 * np.log10(np.mean(first**2) / np.mean(last**2)))


@pytest.mark.parametrize("engine", ENGINES)
class TestSpeech:
    def test_the_plain_style_leaves_the_engines_sound_unchanged(self, engine: str) -> None:
        operator = find_operator(ENGINES[engine])
        raw = voices.find_engine(engine).synthesise(OVER, operator, 7)
        clip = speak_in_style(engine, "plain")
        assert np.array_equal(clip.samples, raw.samples)
        assert clip.words == raw.words

    def test_every_style_has_its_pitch(self, engine: str) -> None:
        for name, style in vocal_styles().items():
            expected_hz = find_operator(ENGINES[engine]).pitch_hz * style.pitch
            pitch_hz = median_pitch_hz(speak_in_style(engine, name))
            assert pitch_hz == pytest.approx(expected_hz, rel=0.12), name

    def test_every_style_has_its_length(self, engine: str) -> None:
        seconds = {name: speak_in_style(engine, name).seconds for name in vocal_styles()}
        assert seconds["hurried"] < 0.88 * seconds["plain"]
        assert seconds["tired"] > 1.1 * seconds["plain"]
        assert seconds["crisp"] > 1.1 * seconds["plain"]

    def test_shouted_speech_is_brighter_and_tired_speech_duller(self, engine: str) -> None:
        """The tolerance allows for what pitch and breath do to the spectrum."""
        plain, shouted, tired = (
            slope_db_per_octave(speak_in_style(engine, name))
            for name in ("plain", "shouted", "tired")
        )
        styles = vocal_styles()
        assert shouted - plain == pytest.approx(styles["shouted"].tilt_db_per_octave, abs=2.5)
        assert tired - plain == pytest.approx(styles["tired"].tilt_db_per_octave, abs=2.5)
        assert shouted - plain > 1.5
        assert tired - plain < -0.5

    def test_the_level_of_a_tired_over_falls(self, engine: str) -> None:
        """Two thirds of the total fall lie between the middles of the first and the last third.

        The tolerance allows for what the tilt does to different vowels.
        """
        tired, plain = (
            fall_over_thirds_db(speak_in_style(engine, name)) for name in ("tired", "plain")
        )
        expected_db = 2 / 3 * vocal_styles()["tired"].level_fall_db
        assert tired - plain == pytest.approx(expected_db, abs=2.5)

    def test_crisp_words_are_set_apart_and_hurried_words_are_close(self, engine: str) -> None:
        plain, crisp, hurried = (
            pauses_s(speak_in_style(engine, name)) for name in ("plain", "crisp", "hurried")
        )
        assert min(crisp) > 0.04
        assert np.mean(crisp) > np.mean(plain) + 0.04
        assert hurried[2] < plain[2]  # the pause after the digit of the call

    def test_words_stay_in_order_within_the_clip(self, engine: str) -> None:
        for name in vocal_styles():
            clip = speak_in_style(engine, name)
            edges = [edge for word in clip.words for edge in (word.start_s, word.end_s)]
            assert edges == sorted(edges)
            assert edges[0] >= 0
            assert edges[-1] <= clip.seconds
            assert np.abs(clip.samples).max() == pytest.approx(0.8, abs=1e-3)


class TestData:
    def test_every_style_has_a_description_and_a_source(self) -> None:
        assert list(vocal_styles()) == ["plain", "crisp", "hurried", "tired", "shouted"]
        assert all(style.description and style.source for style in vocal_styles().values())
        plain = vocal_styles()["plain"]
        assert plain == VocalStyle(description=plain.description, source=plain.source)

    def test_shouting_raises_pitch_and_first_formant_as_published(self) -> None:
        """Per dB of effort 5 Hz of pitch and 3.5 Hz of first formant, for 8 to 15 dB of effort.

        The factors apply to a man's 120 Hz and 500 Hz. Source: Lienard and Di Benedetto 1999
        (values from memory).
        """
        shouted = vocal_styles()["shouted"]
        assert 8 <= 120 * (shouted.pitch - 1) / 5 <= 15
        assert 8 <= 500 * (shouted.first_formant_scale - 1) / 3.5 <= 15

    def test_an_unknown_style_is_reported(self) -> None:
        operator = replace(find_operator("tin"), vocal_style="sung")
        message = "unknown vocal style 'sung'; choose one of: plain, crisp"
        with pytest.raises(UserError, match=message):
            voices.speak_uncached(OVER, operator, 1)

    def test_the_cache_key_depends_on_the_style(self) -> None:
        operator = find_operator("tin")
        keys = {
            cache_key(OVER, replace(operator, vocal_style=style), 1, engine_version="1")
            for style in vocal_styles()
        }
        assert len(keys) == len(vocal_styles())

    def test_a_record_without_a_style_is_read_as_plain(self) -> None:
        item = compose_item(Plan(seed=5, voices=("tin",)), 0)
        data = to_data(item)
        del data["operator"]["style"]
        assert from_data(Item, data) == item

    def test_a_style_changes_only_the_values_that_it_names(self) -> None:
        operator = find_operator("slate")
        assert apply_style_to_operator(operator) is operator
        shouting = apply_style_to_operator(replace(operator, vocal_style="shouted"))
        assert shouting.pitch_hz == pytest.approx(operator.pitch_hz * 1.35, abs=0.1)
        assert (shouting.formant_scale, shouting.accent, shouting.voice) == (
            operator.formant_scale,
            operator.accent,
            operator.voice,
        )


def test_pauses_stay_if_the_engine_spoke_other_words() -> None:
    operator = replace(find_operator("tin"), vocal_style="crisp")
    clip = tone_words(3)
    assert apply_style_to_clip(clip, call_words("E87XQP"), operator) is clip
    same_words = [Word(say=time.say) for time in clip.words]
    assert apply_style_to_clip(clip, same_words, operator).seconds > clip.seconds
