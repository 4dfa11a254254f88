"""A word is found in a recording, cut out and brought to the level of the bank."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from drill.core.errors import UserError
from drill.voices.wordbank.cut import WORD_LEAD_S, WORD_TAIL_S, cut_word
from drill.voices.wordbank.signal_levels import BANK_LEVEL_DB, BANK_RATE_HZ, word_level_db
from tests.drill.word_recordings import RATE_HZ, Sound, in_room, white_noise, word_sound


@given(
    seconds=st.floats(0.25, 1.2),
    level_db=st.floats(-35, -12),
    pitch_hz=st.floats(90, 300),
    margins_s=st.tuples(st.floats(0.1, 1), st.floats(0.1, 1)),
    noise_db=st.floats(-90, -65),
)
def test_a_word_is_cut_out_and_brought_to_the_level(
    seconds: float,
    level_db: float,
    pitch_hz: float,
    margins_s: tuple[float, float],
    noise_db: float,
) -> None:
    word = word_sound(seconds, level_db, pitch_hz)
    recording = in_room(word, before=margins_s[0], after=margins_s[1], noise_db=noise_db)
    result = cut_word(recording, RATE_HZ)
    assert result.seconds == pytest.approx(seconds, abs=0.05)
    length_s = result.seconds + WORD_LEAD_S + WORD_TAIL_S
    assert len(result.samples) == round(length_s * BANK_RATE_HZ)
    assert word_level_db(result.samples) == pytest.approx(BANK_LEVEL_DB, abs=0.1)
    assert np.abs(result.samples).max() <= 0.98
    assert abs(float(result.samples[0])) < 1e-3
    assert abs(float(result.samples[-1])) < 1e-3
    assert not result.faults


@given(
    st.lists(st.floats(-1, 1, width=32), max_size=4000),
    st.sampled_from([8_000, 11_025, 44_100, 48_000, 96_000]),
)
def test_any_other_sound_is_cut_or_refused_in_one_line(samples: list[float], rate_hz: int) -> None:
    try:
        result = cut_word(np.array(samples), rate_hz)
    except UserError as error:
        assert "\n" not in str(error)
    else:
        assert np.isfinite(result.samples).all()


@pytest.mark.parametrize("rate_hz", [8_000, 22_050, 44_100, 96_000])
def test_a_recording_can_have_any_usual_rate(rate_hz: int) -> None:
    recording = np.pad(word_sound(0.5, rate_hz=rate_hz), rate_hz // 4)
    assert cut_word(recording, rate_hz).seconds == pytest.approx(0.5, abs=0.03)


@pytest.mark.parametrize(
    ("recording", "message"),
    [
        (np.zeros(8000), "no sound"),
        (np.array([]), "no sound"),
        (np.array([np.nan]), "no sound"),
        (np.pad(word_sound(0.05), 4000), "no word"),
    ],
)
def test_a_recording_without_a_word_is_refused(recording: Sound, message: str) -> None:
    with pytest.raises(UserError, match=message):
        cut_word(recording, 16_000)


def test_background_noise_alone_is_refused() -> None:
    with pytest.raises(UserError, match="no word stands out"):
        cut_word(white_noise(3, -50), 16_000, noise_db=-50.0)


def test_a_rate_out_of_range_is_refused() -> None:
    with pytest.raises(UserError, match="rate 4000 Hz"):
        cut_word(word_sound(), 4000)


def test_the_click_of_a_key_before_the_word_is_removed() -> None:
    click = white_noise(0.01, -15)
    recording = in_room(np.concatenate((click, np.zeros(3200), word_sound(0.5))), noise_db=-75)
    assert cut_word(recording, 16_000).seconds == pytest.approx(0.5, abs=0.05)


def test_a_stop_consonant_within_the_word_stays() -> None:
    """As in "eight": 100 ms of closure, then a short burst."""
    word = np.concatenate((word_sound(0.3), np.zeros(1600), white_noise(0.03, -25)))
    assert cut_word(in_room(word), 16_000).seconds == pytest.approx(0.43, abs=0.05)


def test_mains_hum_is_filtered_out() -> None:
    """50 Hz hum 5 dB below the voice hardly changes the word's bounds and level."""
    recording = in_room(word_sound(0.5, -25, pitch_hz=150))
    hum = 10 ** (-30 / 20) * np.sin(2 * np.pi * 50 * np.arange(len(recording)) / 16_000)
    without_hum, with_hum = cut_word(recording, 16_000), cut_word(recording + hum, 16_000)
    assert with_hum.seconds == pytest.approx(without_hum.seconds, abs=0.03)
    assert with_hum.level_db == pytest.approx(without_hum.level_db, abs=0.5)
