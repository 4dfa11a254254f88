"""Speech recognition: the words of a grammar that were spoken in a clip, with their times.

The sending drill recognises what the trainee says into a microphone, and what the channel leaves of
it at a far station. Recognisers are found by name through entry points and imported when they are
first needed, so that another engine can be added without changing its callers.

Read in this order: grammar (networks of words, the input of every recogniser), language (the
grammars of calls and messages), own (the project's engine), phones (pronunciations), sphinx (the
engine pocketsphinx, an outside opinion in the tests).
"""

from dataclasses import dataclass
from functools import cache
from typing import Protocol

from drill.core import entrypoints
from drill.core.errors import NoRecogniser
from drill.core.models import Clip
from drill.recogniser.grammar import Grammar

RECOGNISER_ENTRY_POINTS = "faintcall.recognisers"
OWN_RECOGNISER = "own"
"""The project's engine, made for voices in noise."""
DEFAULT_RECOGNISER = OWN_RECOGNISER


@dataclass(frozen=True, kw_only=True, slots=True)
class RecognisedWord:
    """A recognised word.

    say: the word as in the grammar. start_s, end_s: its times in seconds from the start of the
    clip. confidence: 0 to 1, how well the sound matches the word; values of different recognisers
    cannot be compared.
    """

    say: str
    start_s: float
    end_s: float
    confidence: float


class Recogniser(Protocol):
    """A speech recogniser.

    name: name of its entry point. unsure_below: words with a confidence below this count as
    uncertain.
    """

    name: str
    unsure_below: float

    @property
    def version(self) -> str:
        """Return the version of engine and model."""
        ...

    def problem(self) -> str:
        """Return "" if the recogniser works on this computer, else one sentence with the remedy."""
        ...

    def recognise(self, clip: Clip, grammar: Grammar) -> tuple[RecognisedWord, ...]:
        """Return the sequence of words in the grammar's language that fits the sound best.

        clip: clean speech at any sampling rate. The words are in order and their times do not
        overlap. The result is empty if nothing in the language fits.

        Raises: NoRecogniser if the engine is missing or fails; UserError if the engine cannot
        pronounce a word of the grammar.
        """
        ...


def recogniser_names() -> tuple[str, ...]:
    """Return the names of the installed recognisers in alphabetical order."""
    return entrypoints.entry_point_names(RECOGNISER_ENTRY_POINTS)


@cache
def find_recogniser(name: str = DEFAULT_RECOGNISER) -> Recogniser:
    """Return the recogniser with this name.

    Raises: NoRecogniser if it does not exist or cannot be imported; the message lists the choices.
    """
    recogniser: Recogniser = entrypoints.load_entry_point(
        RECOGNISER_ENTRY_POINTS,
        name,
        label="recogniser",
        if_none="none; install faintcall with pip, which includes its recogniser",
        error=NoRecogniser,
    )
    return recogniser
