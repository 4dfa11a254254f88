"""Listeners: from the sound of a microphone and a grammar to words. Found by name (entry points).

A listener hears one take, clean and wideband, as it comes from the microphone; it is no judge of
what a far station would copy. Nothing here is imported before it is needed.
"""

from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Protocol

from drill.core import entrypoints
from drill.core.errors import NoRecogniser

if TYPE_CHECKING:
    from drill.core.models import Clip
    from drill.recogniser.grammar import Grammar

GROUP = "faintcall.listeners"
USUAL = "pocketsphinx"


@dataclass(frozen=True, kw_only=True, slots=True)
class HeardWord:
    """A word as a listener heard it: its times in seconds of the clip, its confidence from 0 to 1.

    confidence: how well the sound bears the word out; it orders words of one listener, and each
    listener says below which figure (`unsure`) a word is to be taken for not made out.
    """

    say: str
    start_s: float
    end_s: float
    confidence: float


class Listener(Protocol):
    """A speech recogniser.

    name: as the entry point names it. unsure: confidence below which a word counts as not made out.
    """

    name: str
    unsure: float

    @property
    def version(self) -> str:
        """Return the version of engine and model."""
        ...

    def problem(self) -> str:
        """Return "" where the listener can work here, else one sentence with the remedy."""
        ...

    def hear(self, clip: "Clip", grammar: "Grammar") -> tuple[HeardWord, ...]:
        """Return the words of the grammar's language that fit the sound best, in their order.

        clip: any rate; the words' times are ordered and do not overlap. Empty where nothing of the
        language fits.
        Raises: NoRecogniser where the engine is missing; UserError where a word of the grammar cannot
        be pronounced.
        """
        ...


def names() -> tuple[str, ...]:
    """Return the names of the listeners that are installed, in alphabetical order."""
    return entrypoints.entry_point_names(GROUP)


@cache
def find(name: str = USUAL) -> Listener:
    """Return the listener of that name.

    Raises: NoRecogniser where there is none, naming those there are, or where it cannot be imported.
    """
    none = "none; install faintcall with pip, its listener comes with it"
    listener: Listener = entrypoints.load_entry_point(
        GROUP, name, label="listener", if_none=none, error=NoRecogniser
    )
    return listener
