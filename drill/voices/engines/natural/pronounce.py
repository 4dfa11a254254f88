"""Phonemes of a word in the alphabet of the natural and studio voices, with an accent applied.

pronunciations.toml holds the pronunciation of every word that the program speaks. A word outside
it, from a user's own exchange, is converted by hibari-tts. accents.toml holds each accent as a list
of replacements. An operator's own ways of saying words, in IPA, take precedence.
"""

import re
import tomllib
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import Any

from drill.core.errors import NoVoice, UserError
from drill.core.packages import pip_install_command
from drill.core.validation import one_of
from drill.voices.engines.phoneme_alphabets import ALPHABET_TABLES, model_phonemes

_PRONUNCIATIONS = Path(__file__).with_name("pronunciations.toml")
_ACCENTS = Path(__file__).with_name("accents.toml")
PHONEME_TABLES = (_PRONUNCIATIONS, _ACCENTS, ALPHABET_TABLES)
PRIMARY_STRESS, SECONDARY_STRESS = "\u02c8", "\u02cc"
_NO_WAYS: Mapping[str, str] = MappingProxyType({})


def phonemes_of_word(say: str, accent: str = "", ways: Mapping[str, str] = _NO_WAYS) -> str:
    """Return the phonemes of a word as spoken with an accent, "" for none.

    ways: IPA of words that replaces their pronunciation in the table.

    Raises: UserError if the accent is unknown or the word has no letters; NoVoice if the word is
    not in the table and hibari-tts is missing.
    """
    own_way = model_phonemes(ways[say]) if say in ways else ""
    phonemes = own_way or listed_phonemes(say) or _converted_phonemes(say)
    for pattern, replacement in _accent_rules(accent):
        phonemes = pattern.sub(replacement, phonemes)
    return phonemes


def listed_phonemes(say: str) -> str:
    """Return a word's phonemes from the table, "" if it is not listed.

    A hyphenated number such as "twenty-six" is built from its parts; the last part has the primary
    stress.
    """
    table = _pronunciations()
    if say in table:
        return table[say]
    parts = [table.get(part, "") for part in say.split("-")]
    if not all(parts):
        return ""
    return "".join(parts[:-1]).replace(PRIMARY_STRESS, SECONDARY_STRESS) + parts[-1]


@cache
def natural_accents() -> tuple[str, ...]:
    """Return the names of the accents of the natural and studio voices."""
    return tuple(_read_table(_ACCENTS))


@cache
def _pronunciations() -> dict[str, str]:
    return dict(_read_table(_PRONUNCIATIONS)["words"])


def _read_table(path: Path) -> dict[str, Any]:
    return tomllib.loads(path.read_text("utf-8"))


@cache
def _accent_rules(accent: str) -> tuple[tuple[re.Pattern[str], str], ...]:
    """Return the replacements of an accent in the order in which they apply."""
    if not accent:
        return ()
    table = _read_table(_ACCENTS)
    rules = table[one_of("accent", accent, table)]["rules"]
    return tuple((re.compile(pattern), replacement) for pattern, replacement in rules)


@cache
def _converter() -> Any:
    try:
        from hibari.g2p import G2P
    except ImportError:
        command = pip_install_command("--no-deps", "hibari-tts==0.2.1")
        raise NoVoice(f"the natural voice needs hibari-tts: {command}") from None
    return G2P()


@cache
def _converted_phonemes(say: str) -> str:
    """Return the phonemes that hibari-tts gives a word."""
    phonemes = str(_converter()(say)).strip()
    if not re.search(r"\w", phonemes):
        raise UserError(f"cannot pronounce {say!r}; write it with the letters a to z")
    return re.sub(r"[\s.,;:!?]+", "", phonemes)
