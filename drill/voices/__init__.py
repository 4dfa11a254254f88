"""Voices: from spoken words and an operator to sound. Engines are found by name (entry points).

A whole over is synthesised at once: joined single words are understood far worse, by people and
machines. Nothing here is imported before it is needed.
"""

from collections.abc import Iterable, Sequence
from functools import cache
from typing import TYPE_CHECKING, Protocol

from drill.core import entrypoints
from drill.core.errors import NoVoice

if TYPE_CHECKING:
    from drill.core.models import Clip, Operator
    from phonetics.message import Word

GROUP = "faintcall.voices"


class Voice(Protocol):
    """A speech engine.

    name: as the entry point names it. version: whatever else decides the sound; part of the name
    under which a clip is kept. repeatable: the same call gives the same samples on one machine.
    An engine may have `cached = False`: it is quick, and its speech is to be kept nowhere else.
    """

    name: str
    repeatable: bool

    @property
    def version(self) -> str:
        """Return the version of engine and model."""
        ...

    def problem(self) -> str:
        """Return "" where the engine can speak here, else one sentence with the remedy."""
        ...

    def say(self, words: "Sequence[Word]", operator: "Operator", seed: int) -> "Clip":
        """Return one over: mono, the engine's sample rate, peak 0.8, a time for every word.

        The operator's style is no business of the engine, but for the first resonance where it can
        move that alone: utter works the rest into the operator and into the sound.
        At most 60 ms stay before the first sound and 80 ms after the last.
        Raises: NoVoice where the engine is missing or fails; UserError where the operator asks for
        a voice or an accent that the engine does not have, or a word cannot be spoken.
        """
        ...


def names() -> tuple[str, ...]:
    """Return the names of the engines that are installed, in alphabetical order."""
    return entrypoints.names(GROUP)


@cache
def find(name: str) -> Voice:
    """Return the engine of that name.

    Raises: NoVoice where there is none, naming those there are, or where it cannot be imported.
    """
    none = "none; install faintcall with pip, its engines come with it"
    voice: Voice = entrypoints.made(GROUP, name, what="voice engine", none=none, lack=NoVoice)
    return voice


def speak(words: "Sequence[Word]", operator: "Operator", seed: int) -> "Clip":
    """Return one over in the operator's voice, from the cache where it is there.

    Raises: NoVoice naming the remedy where the operator's engine is missing or fails; ValueError
    where there are no words.
    """
    if not words:
        raise ValueError("there are no words to speak")
    from drill.core.paths import cache_folder
    from drill.voices.cache import clips_in, key

    voice = find(operator.engine)
    if not getattr(voice, "cached", True):
        return utter(words, operator, seed)
    name = key(words, operator, seed, engine=voice.name, version=voice.version)
    return clips_in(cache_folder() / "speech").get(name, lambda: utter(words, operator, seed))


def utter(words: "Sequence[Word]", operator: "Operator", seed: int) -> "Clip":
    """Return one over in the operator's voice and style, made anew.

    Raises: NoVoice where the operator's engine is missing or fails; UserError where a voice, accent
    or style is unknown or a word cannot be spoken.
    """
    from drill.voices.people.styles import shaped, styled

    return shaped(find(operator.engine).say(words, styled(operator), seed), words, operator)


def usable_operators(among: "Iterable[Operator] | None" = None) -> "tuple[Operator, ...]":
    """Return those of the operators whose engine works here; None: the roster, hard ones left out.

    Raises: NoVoice naming the remedy where none is left.
    """
    from drill.voices.people.roster import ROSTER

    wanted = [each for each in ROSTER if not each.hard] if among is None else list(among)
    problems = {engine: _problem(engine) for engine in {each.engine for each in wanted}}
    usable = tuple(each for each in wanted if not problems[each.engine])
    if not usable:
        told = "; ".join(sorted(set(problems.values()))) or "none were asked for"
        raise NoVoice(f"no operator can speak here: {told}")
    return usable


def _problem(engine: str) -> str:
    try:
        return find(engine).problem()
    except NoVoice as lack:
        return str(lack)
