"""Voices: words spoken by an operator. The rest of the program calls `speak`.

Speech engines are found by name through entry points and imported when they are first needed. They
synthesise a whole over at once, because people and recognisers understand joined single words much
less well.

Read in this order: engines (text to speech), effects (vocal styles applied to the sound), people
(the operators and their habits), wordbank (recorded words as a voice), operators (finds operators
by name), cache (speech on disk), diagnostics (the state of every engine).
"""

import functools
from collections.abc import Iterable, Sequence
from typing import Protocol

from drill.core import entrypoints
from drill.core.errors import NoVoice
from drill.core.models import Clip, Operator
from drill.core.paths import cache_folder
from drill.voices.cache import cache_key, speech_cache
from drill.voices.people.roster import ROSTER
from drill.voices.people.styles import apply_style_to_clip, apply_style_to_operator
from phonetics.message import Word

ENGINE_ENTRY_POINTS = "faintcall.voices"


class SpeechEngine(Protocol):
    """A speech engine.

    name: name of its entry point. repeatable: True if the same call always gives the same samples
    on one computer. sound_version: number to increase when a change of the engine's code changes
    the samples.
    An engine that is fast may have `cached = False`; its speech is then never stored.
    """

    name: str
    repeatable: bool
    sound_version: int

    @property
    def version(self) -> str:
        """Return a text of everything that determines the samples besides words, operator and seed.

        It is part of the cache key: sound_version, digests of models and tables, and versions of
        packages.
        """
        ...

    def problem(self) -> str:
        """Return "" if the engine can speak on this computer, else one sentence with the remedy."""
        ...

    def synthesise(self, words: Sequence[Word], operator: Operator, seed: int) -> Clip:
        """Return one over: mono, at the engine's sample rate, with a peak of 0.8 and a time for
        every word.

        The operator comes with its vocal style already applied to pitch, pace, melody and breath.
        An engine that can shift the first formant alone reads that shift from the style; the rest
        of the style is applied to the clip (speak_uncached). At most 60 ms are silent before the
        first sound and 80 ms after the last.

        Raises: NoVoice if the engine is missing or fails; UserError if the engine does not have the
        operator's voice or accent, or cannot pronounce a word.
        """
        ...


def engine_names() -> tuple[str, ...]:
    """Return the names of the installed engines in alphabetical order."""
    return entrypoints.entry_point_names(ENGINE_ENTRY_POINTS)


@functools.cache
def find_engine(name: str) -> SpeechEngine:
    """Return the engine with this name.

    Raises: NoVoice if it does not exist or cannot be imported; the message lists the choices.
    """
    engine: SpeechEngine = entrypoints.load_entry_point(
        ENGINE_ENTRY_POINTS,
        name,
        label="voice engine",
        if_none="none; install faintcall with pip, which includes its engines",
        error=NoVoice,
    )
    return engine


def speak(words: Sequence[Word], operator: Operator, seed: int) -> Clip:
    """Return one over as the operator speaks it, from the cache if possible.

    Raises: NoVoice if the operator's engine is missing or fails; UserError if a voice, accent or
    style is unknown or a word cannot be pronounced; ValueError if there are no words.
    """
    if not words:
        raise ValueError("there are no words to speak")
    engine = find_engine(operator.engine)
    if not getattr(engine, "cached", True):
        return speak_uncached(words, operator, seed)
    key = cache_key(words, operator, seed, engine_version=engine.version)
    clips = speech_cache(cache_folder() / "speech")
    return clips.get(key, lambda: speak_uncached(words, operator, seed))


def find_speech(words: Sequence[Word], operator: Operator, seed: int) -> Clip | None:
    """Return the clip of `speak` if it needs no synthesis, else None. Raises: as speak."""
    engine = find_engine(operator.engine)
    if not getattr(engine, "cached", True):
        return speak_uncached(words, operator, seed)  # joined from recordings, without synthesis
    key = cache_key(words, operator, seed, engine_version=engine.version)
    return speech_cache(cache_folder() / "speech").find(key)


def speak_uncached(words: Sequence[Word], operator: Operator, seed: int) -> Clip:
    """Return one over as the operator speaks it, synthesised at each call.

    Raises: NoVoice and UserError as speak.
    """
    engine = find_engine(operator.engine)
    clip = engine.synthesise(words, apply_style_to_operator(operator), seed)
    return apply_style_to_clip(clip, words, operator)


def usable_operators(operators: Iterable[Operator] | None = None) -> tuple[Operator, ...]:
    """Return the operators whose engine works on this computer.

    operators: None for the roster without those that speak only on request.

    Raises: NoVoice if no operator is left; the message names the remedies.
    """
    if operators is None:
        operators = [operator for operator in ROSTER if not operator.hard]
    candidates = list(operators)
    problems = engine_problems(candidates)
    usable = tuple(operator for operator in candidates if operator.engine not in problems)
    if not usable:
        reasons = "; ".join(sorted(set(problems.values()))) or "no operators were named"
        raise NoVoice(f"no operator can speak on this computer: {reasons}")
    return usable


def engine_problems(operators: Iterable[Operator]) -> dict[str, str]:
    """Return the operators' engines that do not work here: name, and a sentence with the remedy."""
    problems = {name: _engine_problem(name) for name in {o.engine for o in operators}}
    return {name: problem for name, problem in problems.items() if problem}


def _engine_problem(name: str) -> str:
    try:
        return find_engine(name).problem()
    except NoVoice as error:
        return str(error)
