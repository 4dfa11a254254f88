"""Pronunciations in ARPAbet, and syllables."""

import pytest

from drill.core.errors import UserError
from drill.recogniser.phones import arpabet_from_phonemes, count_syllables
from drill.voices.engines.natural.pronounce import listed_phonemes


def test_phonemes_are_written_in_arpabet_without_stress() -> None:
    assert arpabet_from_phonemes(listed_phonemes("alfa")) == "AE L F AH"


@pytest.mark.parametrize(
    ("word", "syllables"), [("alfa", 2), ("five", 1), ("november", 3), ("x-ray", 2)]
)
def test_syllables_are_counted_by_vowels(word: str, syllables: int) -> None:
    """Syllables counted by hand."""
    assert count_syllables(word) == syllables


def test_text_without_any_phoneme_is_refused() -> None:
    with pytest.raises(UserError, match="cannot pronounce"):
        arpabet_from_phonemes("...")
