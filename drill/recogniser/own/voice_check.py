"""Checks whether the recogniser can judge a voice at all: how well it copies that voice in quiet.

The network was trained on synthetic speakers only. If it copies a voice badly even without noise,
its errors show that the voice is unlike those speakers, not that the sending is bad; the caller
then shows this result instead of a judgement.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from drill.core.models import Clip
from drill.recogniser.grammar import Grammar
from drill.recogniser.own.engine import OwnRecogniser

MIN_WORDS = 8
"""With fewer words than this, a voice cannot be judged."""
MIN_SHARE_RIGHT = 0.9
"""A voice is judged if at least this share of its words is copied in quiet. All voices of the
roster reach it."""


@dataclass(frozen=True, slots=True)
class VoiceCheck:
    """The recogniser's result for clean speech: the words said, and the words copied."""

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
    """Return the longest sequence of words that occurs in both sequences in the same order."""
    row = [0] * (len(recognised) + 1)
    for word in said:
        before = row.copy()
        for place, other in enumerate(recognised, 1):
            row[place] = max(before[place], row[place - 1], before[place - 1] + (word == other))
    return row[-1]
