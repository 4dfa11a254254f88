"""Pronunciations for a recogniser, in ARPAbet without stress, and syllable counts.

phones.toml holds the words that the dictionary of pocketsphinx lacks or pronounces differently, and
the ARPAbet symbol of each phoneme of drill.voices.engines.natural.pronounce.
"""

import tomllib
from functools import cache
from pathlib import Path

from drill.core.errors import UserError
from drill.voices.engines.natural.pronounce import listed_phonemes

ARPABET_VOWELS = frozenset(
    ["AA", "AE", "AH", "AO", "AW", "AY", "EH", "ER", "EY", "IH", "IY", "OW", "OY", "UH", "UW"]
)
_PHONES = Path(__file__).with_name("phones.toml")


@cache
def _tables() -> dict[str, dict[str, list[str]]]:
    return tomllib.loads(_PHONES.read_text("utf-8"))


@cache
def special_pronunciations() -> dict[str, tuple[str, ...]]:
    """Return the pronunciations of words that the dictionary lacks or pronounces differently."""
    return {word: tuple(phones) for word, phones in _tables()["words"].items()}


def arpabet_from_phonemes(phonemes: str) -> str:
    """Return phonemes of drill.voices.engines.natural.pronounce in ARPAbet, without stress.

    Symbols outside the table, such as stress marks, are skipped. Raises: UserError if no symbol is
    in the table.
    """
    table: dict[str, str] = {symbol: str(phone) for symbol, phone in _tables()["arpabet"].items()}
    phones, index = [], 0
    while index < len(phonemes):
        length = next((n for n in (2, 1) if phonemes[index : index + n] in table), 0)
        if length:
            phones.append(table[phonemes[index : index + length]])
        index += length or 1
    if not phones:
        raise UserError(
            f"the recogniser cannot pronounce {phonemes!r}; write the word with letters a to z"
        )
    return " ".join(phones)


@cache
def count_syllables(say: str) -> int:
    """Return the number of vowels of a word, at least 1; 1 for a word without listed phonemes."""
    phonemes = listed_phonemes(say)
    if not phonemes:
        return 1
    return max(1, sum(phone in ARPABET_VOWELS for phone in arpabet_from_phonemes(phonemes).split()))
