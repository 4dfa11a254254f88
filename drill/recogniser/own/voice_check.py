"""Whether the recogniser can judge a voice at all: how well it copies that voice in quiet.

The network has heard synthetic speakers only. A voice that it copies badly without noise would be
judged for being unlike them, not for its sending, so the caller shows this result in place of a
judgement.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from drill.core.models import Clip
from drill.recogniser.grammar import Grammar
from drill.recogniser.own.engine import OwnRecogniser

MIN_WORDS = 8
"""Fewer words do not show whether a voice is copied."""
MIN_SHARE_RIGHT = 0.9
"""Share of words in quiet from which on a voice is judged. All voices of the roster reach it."""


@dataclass(frozen=True, slots=True)
class VoiceCheck:
    """What the recogniser made of clean speech: words said, and those that it copied."""

    words: int
    right: int

    @property
    def share_right(self) -> float:
        """Return the share of words that were copied, 0 if none were said."""
        return self.right / self.words if self.words else 0.0

    @property
    def is_conclusive(self) -> bool:
        """Return True if enough words were said."""
        return self.words >= MIN_WORDS

    @property
    def can_be_judged(self) -> bool:
        """Return True if enough words were said and enough of them copied."""
        return self.is_conclusive and self.share_right >= MIN_SHARE_RIGHT


def check_voice(
    recogniser: OwnRecogniser, takes: Iterable[tuple[Clip, Grammar, Sequence[str]]]
) -> VoiceCheck:
    """Return how well the recogniser copies a voice in quiet.

    takes: clean clips of the voice, each with the grammar to use and the words that were said.
    Raises: NoRecogniser, UserError as OwnRecogniser.recognise.
    """
    words = right = 0
    for clip, grammar, said in takes:
        recognised = [word.say for word in recogniser.recognise(clip, grammar)]
        words += len(said)
        right += words_in_order(said, recognised)
    return VoiceCheck(words=words, right=right)


def words_in_order(said: Sequence[str], recognised: Sequence[str]) -> int:
    """Return the most words that occur in both sequences in the same order."""
    row = [0] * (len(recognised) + 1)
    for word in said:
        before = row.copy()
        for place, other in enumerate(recognised, 1):
            row[place] = max(before[place], row[place - 1], before[place - 1] + (word == other))
    return row[-1]
