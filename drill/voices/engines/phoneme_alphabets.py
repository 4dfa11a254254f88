"""From the International Phonetic Alphabet (IPA) to the phoneme alphabets of the speech engines.

A stress mark stands before the syllable in IPA and before the vowel in the engines' alphabets. The
tables are in phoneme_alphabets.toml, with their sources.
"""

import re
import tomllib
from collections.abc import Iterable, Mapping
from functools import cache
from pathlib import Path
from typing import Any

PRIMARY_STRESS, SECONDARY_STRESS = "\u02c8", "\u02cc"
_ESPEAK_STRESS = {PRIMARY_STRESS: "'", SECONDARY_STRESS: ","}
ALPHABET_TABLES = Path(__file__).with_name("phoneme_alphabets.toml")


def model_phonemes(ipa: str) -> str:
    """Return IPA in the alphabet of the natural and studio models, as in pronunciations.toml."""
    table: Mapping[str, str] = _tables()["model"]
    symbols = _stress_before_vowel(_split_into_symbols(ipa, table))
    return "".join(table.get(symbol, symbol) for symbol in symbols)


def espeak_phonemes(ipa: str) -> str:
    """Return IPA as the phoneme input of espeak-ng, in double brackets.

    Raises: ValueError if a symbol has no mnemonic.
    """
    tables = _tables()
    table = {**tables["espeak"], **_ESPEAK_STRESS, **{c: c for c in tables["consonants"]}}
    table.update(tables["espeak"])
    mnemonics = ""
    for symbol in _stress_before_vowel(_split_into_symbols(ipa, table)):
        if symbol not in table:
            raise ValueError(f"{symbol!r} in {ipa!r} has no espeak-ng mnemonic")
        mnemonics += table[symbol]
    return f"[[{mnemonics}]]"


@cache
def _tables() -> dict[str, Any]:
    return tomllib.loads(ALPHABET_TABLES.read_text("utf-8"))


def _split_into_symbols(ipa: str, known: Iterable[str]) -> list[str]:
    """Split IPA into the longest known symbols, and single characters between them."""
    longest_first = sorted(map(re.escape, known), key=len, reverse=True)
    return re.findall("|".join([*longest_first, "."]), ipa)


def _stress_before_vowel(symbols: Iterable[str]) -> list[str]:
    """Move each stress mark past the consonants that follow it."""
    result: list[str] = []
    stress = ""
    for symbol in symbols:
        if symbol in _ESPEAK_STRESS:
            stress = symbol
            continue
        if stress and symbol[0] in _tables()["vowels"]:
            result.append(stress)
            stress = ""
        result.append(symbol)
    return result
