"""The words that the network knows, as they are stored with it.

The vocabulary travels inside the model file, so that a later change of the pronunciation table
cannot shift the meaning of the network's outputs.
"""

import json
from collections.abc import Mapping
from dataclasses import asdict, dataclass


@dataclass(frozen=True, kw_only=True, eq=False)
class Vocabulary:
    """Tokens of the network, number 0 being CTC's blank.

    tokens: a word for each token; token `n` is `tokens[n - 1]`. words: the token of every word;
    words that sound alike have the same token. phonemes: symbols of the phoneme output; symbol `n`
    is `phonemes[n - 1]`. readings: for each token its phonemes as numbers.
    """

    tokens: tuple[str, ...]
    words: Mapping[str, int]
    phonemes: tuple[str, ...]
    readings: tuple[tuple[int, ...], ...]

    def tokens_of(self, word: str) -> tuple[int, ...]:
        """Return the tokens of a spoken word; "twenty-six" has two. Empty if it is unknown."""
        if word in self.words:
            return (self.words[word],)
        parts = tuple(self.words.get(part, 0) for part in word.split("-"))
        return parts if all(parts) else ()

    def reading(self, token: int) -> tuple[int, ...]:
        """Return the phonemes of a token."""
        return self.readings[token - 1]

    def to_json(self) -> str:
        """Return the vocabulary as JSON; from_json reverses it."""
        return json.dumps(asdict(self), ensure_ascii=False)

    @classmethod
    def from_json(cls, text: str) -> "Vocabulary":
        """Return the vocabulary that to_json wrote. Raises: ValueError, KeyError, TypeError."""
        data = json.loads(text)
        return cls(
            tokens=tuple(data["tokens"]),
            words=dict(data["words"]),
            phonemes=tuple(data["phonemes"]),
            readings=tuple(tuple(reading) for reading in data["readings"]),
        )
