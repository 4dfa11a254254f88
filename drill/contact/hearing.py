"""What an operator hears: words with confidences.

`Ears` is the protocol; `model_ears` and `machine_ears` implement it.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

from drill.contact.air import Reception
from drill.contact.overs import MISSED


@dataclass(frozen=True, slots=True)
class HeardToken:
    """One word as an operator hears it.

    text: the characters that the word represents ("A", "7", "26"), or a procedure word in lower
    case ("again"); "" if the word was noticed but not made out. confidence: 0 to 1. start_s, end_s:
    seconds from the start of the voice.
    """

    text: str
    confidence: float
    start_s: float
    end_s: float


@dataclass(frozen=True, slots=True)
class HeardOver:
    """One voice as heard by ears; level_db: its apparent mean SNR in 3 kHz."""

    tokens: tuple[HeardToken, ...]
    level_db: float


class Ears(Protocol):
    """The far operator's ears.

    The far operator decides only by their results and never sees the actual words. doubt_below: a
    word with a lower confidence counts as not made out.
    """

    name: str
    doubt_below: float

    def notices(self, level_db: float, draw: float) -> bool:
        """Return whether a voice is noticed at all.

        level_db: its SNR in 3 kHz. draw: a uniform random number from 0 to 1.
        """
        ...

    def listen(self, reception: Reception) -> tuple[HeardOver, ...]:
        """Return the voices that were made out, in order of their ends."""
        ...


def characters_of(tokens: Sequence[HeardToken], doubt_below: float) -> tuple[str, ...]:
    """Return the characters of tokens; MISSED for a token that is empty or too doubtful.

    A token of several characters gives one entry for each. Procedure words are left out.
    """
    result: list[str] = []
    for token in tokens:
        if is_procedure_word(token):
            continue
        if not token.text:
            result.append(MISSED)
        else:
            doubtful = token.confidence < doubt_below
            result += [MISSED if doubtful else character for character in token.text]
    return tuple(result)


def is_procedure_word(token: HeardToken) -> bool:
    """Return whether a token is a procedure word, which carries no characters."""
    return token.text.islower()
