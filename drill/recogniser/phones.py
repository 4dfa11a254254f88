"""How words sound, in ARPAbet: what a recogniser's dictionary does not know, and syllables."""

import tomllib
from functools import cache
from importlib.resources import files

from drill.core.errors import UserError
from drill.voices.engines.natural.pronounce import listed_phonemes

VOWELS = frozenset(
    ["AA", "AE", "AH", "AO", "AW", "AY", "EH", "ER", "EY", "IH", "IY", "OW", "OY", "UH", "UW"]
)


@cache
def _data() -> dict[str, dict[str, list[str]]]:
    return tomllib.loads((files("drill.recogniser") / "data" / "phones.toml").read_text("utf-8"))


@cache
def special_readings() -> dict[str, tuple[str, ...]]:
    """Return the readings of words that dictionaries lack or have otherwise."""
    return {word: tuple(readings) for word, readings in _data()["words"].items()}


def arpabet(spoken: str) -> str:
    """Return phonemes of drill.voices.engines.natural.pronounce in ARPAbet, stress left out.

    Raises: UserError where nothing of them is known.
    """
    table: dict[str, str] = {key: str(value) for key, value in _data()["arpabet"].items()}
    found, at = [], 0
    while at < len(spoken):
        size = next((n for n in (2, 1) if spoken[at : at + n] in table), 0)
        if size:
            found.append(table[spoken[at : at + size]])
        at += size or 1
    if not found:
        raise UserError(f"the listener cannot read {spoken!r}; write the word with letters a to z")
    return " ".join(found)


@cache
def syllables(say: str) -> int:
    """Return how many vowels a word has, at least 1, as the voices' table reads it."""
    spoken = listed_phonemes(say)
    return max(1, sum(sound in VOWELS for sound in arpabet(spoken).split())) if spoken else 1
