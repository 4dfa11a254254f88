"""Faults of a recording are found, and a good recording has none."""

import numpy as np
import pytest

from drill.voices.wordbank.cut import cut_word
from drill.voices.wordbank.faults import WordFault, is_clipped
from tests.drill.word_recordings import Sound, in_room, white_noise, word_sound

TWO_WORDS = np.concatenate((word_sound(), np.zeros(8000), word_sound(0.4)))


@pytest.mark.parametrize(
    ("recording", "fault"),
    [
        (np.clip(in_room(10 * word_sound()), -1, 1), WordFault.CLIPPED),
        (np.clip(in_room(word_sound()), -0.2, 0.2), WordFault.CLIPPED),
        (in_room(word_sound(0.5, -50), noise_db=-90), WordFault.TOO_SOFT),
        (in_room(word_sound(0.5, -30), noise_db=-42), WordFault.TOO_NOISY),
        (in_room(word_sound())[round(0.5 * 16_000) :], WordFault.START_CUT_OFF),
        (in_room(word_sound())[: round(0.8 * 16_000)], WordFault.END_CUT_OFF),
        (in_room(TWO_WORDS), WordFault.SEVERAL_WORDS),
        (in_room(word_sound(3.0)), WordFault.TOO_LONG),
    ],
)
def test_each_fault_is_found(recording: Sound, fault: WordFault) -> None:
    assert fault in cut_word(recording, 16_000).faults


def test_a_good_recording_has_no_fault() -> None:
    assert cut_word(in_room(word_sound()), 16_000).faults == ()


def test_a_short_or_soft_sound_beside_the_word_is_not_a_second_word() -> None:
    """50 ms are too short, and 20 dB below the word is too soft."""
    for sound in (white_noise(0.05, -20), word_sound(0.4, -42)):
        recording = in_room(np.concatenate((word_sound(), np.zeros(8000), sound)))
        assert cut_word(recording, 16_000).faults == ()


def test_a_loud_sine_is_not_clipped() -> None:
    time = np.arange(16_000) / 16_000
    assert not is_clipped(0.9 * np.sin(2 * np.pi * 200 * time))
    assert is_clipped(np.clip(1.2 * np.sin(2 * np.pi * 200 * time), -1, 1))


def test_noise_is_never_clipped_and_silence_neither() -> None:
    assert not is_clipped(white_noise(1, -20))
    assert not is_clipped(np.zeros(1000))
