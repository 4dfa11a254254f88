"""The words of the recogniser and their phonemes, from the voices' pronunciation table.

Words that sound alike ("two" and "to", "four" and "for") share one token; the recogniser's grammar
tells them apart. Token 0 is CTC's blank, both for words and for phonemes.
"""

import tomllib
from collections.abc import Iterable
from functools import cache

from drill.recogniser.own.vocabulary import Vocabulary
from drill.voices.engines.natural.pronounce import PHONEME_TABLES, PRIMARY_STRESS, SECONDARY_STRESS

PREFERRED = ("four", "two", "one", "eight", "oh", "for", "nine")
"""Of words that sound alike, the first one in this list names their token."""
EXTRA = {"zee": f"z{PRIMARY_STRESS}i", "uh": f"{PRIMARY_STRESS}ʌ", "um": f"{PRIMARY_STRESS}ʌm"}
"""Words that people say on the air but the product's operators do not."""
_STRESS = str.maketrans("", "", PRIMARY_STRESS + SECONDARY_STRESS)


@cache
def phonemes() -> dict[str, str]:
    """Return every word with its phonemes, in the alphabet of pronunciations.toml."""
    return tomllib.loads(PHONEME_TABLES[0].read_text("utf-8"))["words"] | EXTRA


@cache
def vocabulary() -> Vocabulary:
    """Return the recogniser's words, tokens and phonemes."""
    spoken = phonemes()
    ordered = [word for word in PREFERRED if word in spoken]
    ordered += [word for word in sorted(spoken) if word not in PREFERRED]
    first: dict[str, str] = {}
    names = {word: first.setdefault(spoken[word].translate(_STRESS), word) for word in ordered}
    tokens = tuple(sorted(set(names.values())))
    number = {name: place + 1 for place, name in enumerate(tokens)}
    symbols = tuple(
        sorted({symbol for name in tokens for symbol in spoken[name].translate(_STRESS)})
    )
    readings = tuple(
        tuple(symbols.index(symbol) + 1 for symbol in spoken[name].translate(_STRESS))
        for name in tokens
    )
    return Vocabulary(
        tokens=tokens,
        words={word: number[name] for word, name in names.items()},
        phonemes=symbols,
        readings=readings,
    )


def tokens_of(words: Iterable[str]) -> list[int] | None:
    """Return the tokens of spoken words, None if one of them is not in the vocabulary."""
    result: list[int] = []
    for word in words:
        tokens = vocabulary().tokens_of(word)
        if not tokens:
            return None
        result += tokens
    return result
