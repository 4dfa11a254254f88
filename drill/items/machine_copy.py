"""A recogniser's answer to an item, for comparison with the trainee's answer.

The recogniser gets the same sound as the trainee, rendered again from the item, and its words are
scored like a typed line. Its figures show how hard the items were for a machine, not how well
people copy.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from drill.core.models import FieldScore, Item
from drill.items.render import render
from drill.scoring.answers import score_answer
from phonetics.alphabets import characters_from_words

if TYPE_CHECKING:
    from drill.recogniser import Recogniser

MACHINE_RECOGNISER = "own"
"""Name of the recogniser for voices in noise."""
MACHINE_PART = "call"
"""The machine copies only items of this part: in a whole over, a person's answer depends on more
than the words."""


@dataclass(frozen=True, kw_only=True, slots=True)
class MachineCopy:
    """A recogniser's answer to an item.

    recogniser: its name and version. typed: the call that it would type, "" for none. right:
    whether the call is right.
    """

    recogniser: str
    typed: str
    right: bool


def machine_name(recogniser: "Recogniser") -> str:
    """Return name and version of a recogniser. Raises: NoRecogniser."""
    return f"{recogniser.name} {recogniser.version}"


def copy_item(item: Item, recogniser: "Recogniser") -> MachineCopy:
    """Return the recogniser's answer to an item that consists of a call.

    Raises: NoVoice if the sound cannot be rendered here; NoRecogniser.
    """
    from drill.recogniser.language import call_grammar

    words = recogniser.recognise(render(item), call_grammar(alternates=True))
    typed = call_from_words(word.say for word in words)
    return MachineCopy(
        recogniser=machine_name(recogniser),
        typed=typed,
        right=all(score.right for score in machine_scores(item, typed)),
    )


def machine_scores(item: Item, typed: str) -> tuple[FieldScore, ...]:
    """Return the score of a recogniser's answer; an empty answer counts as given up."""
    return score_answer(item.message.fields, typed, gave_up=not typed)


def call_from_words(words: Iterable[str]) -> str:
    """Return the call that recognised words spell, without fillers."""
    from drill.recogniser.language import FILLER_WORDS

    return characters_from_words([word for word in words if word not in FILLER_WORDS])
