"""Sentences about recordings and word banks."""

from pathlib import Path

import numpy as np
import pytest

from drill.voices.wordbank.background import BackgroundNoise
from drill.voices.wordbank.cut import CutWord
from drill.voices.wordbank.faults import WordFault
from drill.voices.wordbank.storage import create_bank
from drill.voices.wordbank.wording import (
    as_sentence,
    background_sentence,
    completeness_text,
    fault_text,
    measurements_text,
    missing_words_text,
)
from drill.voices.wordbank.words import WordGroup
from tests.drill.word_recordings import CONSENT

WORD = CutWord(
    samples=np.zeros(1, np.float32), seconds=0.456, level_db=-50.4, peak_db=-40.2, snr_db=12.3,
    faults=(),
)  # fmt: skip


@pytest.mark.parametrize(
    ("level_db", "start"), [(-70, "quiet enough"), (-50, "acceptable"), (-35, "too noisy: close")]
)
def test_the_background_is_rated(level_db: float, start: str) -> None:
    noise = BackgroundNoise(level_db=level_db, hum_hz=0, hum_db=-np.inf)
    assert background_sentence(noise).startswith(f"Background noise {level_db} dB: {start}")


def test_a_microphone_that_delivers_silence_is_not_a_quiet_room() -> None:
    noise = BackgroundNoise(level_db=-190, hum_hz=0, hum_db=-np.inf)
    assert background_sentence(noise).startswith("The microphone delivers silence")
    noise = BackgroundNoise(level_db=-89, hum_hz=0, hum_db=-np.inf)
    assert background_sentence(noise) == "Background noise -89 dB: quiet enough."


def test_hum_is_named_with_its_level() -> None:
    noise = BackgroundNoise(level_db=-70, hum_hz=50, hum_db=-46.2)
    assert background_sentence(noise).endswith(". 50 Hz mains hum, -46 dB.")


def test_measurements_are_listed() -> None:
    text = "0.46 s, level -50 dB, peak -40 dB, 12 dB above the background"
    assert measurements_text(WORD) == text


@pytest.mark.parametrize("fault", WordFault)
def test_every_fault_becomes_a_sentence(fault: WordFault) -> None:
    sentence = as_sentence(fault_text(fault, WORD))
    assert sentence[0].isupper()
    assert sentence.endswith(".")
    assert "\n" not in sentence


def test_a_soft_and_a_noisy_recording_are_described_with_their_figures() -> None:
    assert "-50 dB" in fault_text(WordFault.TOO_SOFT, WORD)
    assert "12 dB above the background" in fault_text(WordFault.TOO_NOISY, WORD)


def test_an_empty_bank_lacks_all_words(home: Path) -> None:
    assert completeness_text(create_bank("new", CONSENT)).startswith(
        "0 of 37 essential words, 0 of"
    )


def test_long_lists_of_optional_words_are_shortened() -> None:
    words = tuple(f"word{index}" for index in range(12))
    group = WordGroup(title="words", words=words)
    assert missing_words_text(words, group) == "all 12"
    assert missing_words_text(words[:3], group) == "word0, word1, word2"
    assert missing_words_text(words[:10], group).endswith("word7 and 2 more")
