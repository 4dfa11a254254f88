"""Levels of recordings at the sample rate of word banks."""

import numpy as np
import pytest

from drill.core.errors import UserError
from drill.voices.wordbank.signal_levels import (
    BANK_RATE_HZ,
    frame_levels_db,
    prepare_recording,
    word_level_db,
)
from tests.drill.word_recordings import RATE_HZ, word_sound


def test_frame_levels_are_rms_levels() -> None:
    """A constant of 0.1 has a level of -20 dB; the last of 3.5 frames is half empty, 3 dB less."""
    levels_db = frame_levels_db(np.full(round(3.5 * 0.005 * BANK_RATE_HZ), 0.1))
    assert levels_db == pytest.approx([-20, -20, -20, -23.01], abs=0.01)


def test_frequencies_below_75_hz_are_removed() -> None:
    time = np.arange(RATE_HZ) / RATE_HZ
    peaks = {}
    for frequency_hz in (30, 300):
        prepared = prepare_recording(np.sin(2 * np.pi * frequency_hz * time), RATE_HZ)
        assert len(prepared) == BANK_RATE_HZ
        middle = prepared[BANK_RATE_HZ // 4 : -BANK_RATE_HZ // 4]
        peaks[frequency_hz] = np.abs(middle).max()
    assert peaks[30] < 0.01
    assert peaks[300] == pytest.approx(1, abs=0.01)


def test_the_level_of_a_word_does_not_depend_on_the_silence_after_it() -> None:
    word = word_sound(rate_hz=BANK_RATE_HZ)
    assert word_level_db(np.pad(word, (0, 12_000))) == pytest.approx(word_level_db(word), abs=0.01)


def test_a_click_has_no_word_level() -> None:
    with pytest.raises(UserError, match="no word"):
        word_level_db(np.zeros(100))
