"""What the recogniser `own` copies of a take at the far end, in several tries, and of a reference.

Each try has its own noise and fading, the same for both voices. The far station knows the kind of
message that it expects, but not its content. These are a machine's figures, not a person's.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from drill import voices
from drill.core.conditions import Conditions
from drill.core.models import Clip
from drill.radio.channel import simulate
from drill.radio.presets import parse_receiver
from drill.recogniser import Recogniser
from drill.recogniser.grammar import (
    Expression,
    Grammar,
    any_number,
    build_grammar,
    choice,
    optional,
    sequence,
)
from drill.recogniser.language import (
    FILLER_WORDS,
    RARE_WEIGHT,
    call_expression,
    field_expression,
    procedure_words,
    spelt_expression,
)
from drill.recogniser.own.voice_check import MIN_SHARE_RIGHT, VoiceCheck
from drill.sending.align import align_words
from drill.sending.expected import ExpectedGraph, expected_graph
from drill.sending.far_end import FAR_END_WATTS, far_end_conditions, reference_operator
from drill.sending.intelligibility import trim_silence
from drill.sending.models import Prompt
from phonetics.exchanges import Exchange
from phonetics.message import Field

TRIES = 10
AROUND_STEPS = frozenset({"right", "procedure", "filler", "back"})
"""Steps of an alignment without an error."""
SOUND_LIKE_DIGITS = frozenset({"for", "to"})
"""Procedure words that the far station does not expect: they would make digits doubtful."""


@dataclass(frozen=True, kw_only=True, slots=True)
class UnitCopies:
    """How often one character, number or word arrived.

    say: its standard words. means: its characters, "" for an opening word. field: name of its
    field. copied: number of tries. confidence: mean of the recogniser's confidence in these tries,
    0 to 1; 0 if there are none.
    """

    say: str
    means: str
    field: str
    copied: int
    confidence: float


@dataclass(frozen=True, kw_only=True, slots=True)
class VoiceCopies:
    """One voice at one power. whole: number of tries in which everything arrived without error."""

    whole: int
    units: tuple[UnitCopies, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class PowerCopies:
    """Take and reference voice at one power. snr_db: requested SNR in 3 kHz."""

    watts: float
    snr_db: float
    take: VoiceCopies
    reference: VoiceCopies


@dataclass(frozen=True, kw_only=True, slots=True)
class FarCopies:
    """What is copied of a take at several powers.

    operator: name of the reference voice. tries: at each power. check: how much of the take is
    copied without noise. powers: empty if that is too little for a judgement in noise.
    """

    operator: str
    tries: int
    check: VoiceCheck
    powers: tuple[PowerCopies, ...]


@dataclass(frozen=True, slots=True)
class _Copied:
    """One try: for each unit its confidence, None if it did not arrive; whole: without error."""

    units: tuple[float | None, ...]
    whole: bool


class _FarStation:
    """Copies clips of one prompt."""

    def __init__(self, prompt: Prompt, exchange: Exchange | None) -> None:
        self._graph = expected_graph(prompt)
        self._grammar = far_grammar(prompt, exchange)

    def copy(self, clip: Clip, recogniser: Recogniser) -> _Copied:
        words = recogniser.recognise(clip, self._grammar)
        steps = align_words([word.say for word in words], self._graph)
        confidences: list[float | None] = []
        for number in range(len(self._graph.units)):
            of_unit = [step for step in steps if step.expected and step.expected.unit == number]
            heard = [words[s.recognised].confidence for s in of_unit if s.recognised is not None]
            arrived = bool(heard) and all(step.kind == "right" for step in of_unit)
            confidences.append(min(heard) if arrived else None)
        return _Copied(tuple(confidences), all(step.kind in AROUND_STEPS for step in steps))

    def copy_tries(
        self, voice: Clip, path: Conditions, seeds: Iterable[int], recogniser: Recogniser
    ) -> VoiceCopies:
        tries = [self.copy(simulate(voice, path, seed).clip, recogniser) for seed in seeds]
        return VoiceCopies(
            whole=sum(copied.whole for copied in tries),
            units=tuple(
                _unit_copies(self._graph, number, [copied.units[number] for copied in tries])
                for number in range(len(self._graph.units))
            ),
        )


def copy_far_ends(
    clip: Clip,
    prompt: Prompt,
    exchange: Exchange | None,
    conditions: Conditions,
    recogniser: Recogniser,
    *,
    path_snr_db: float,
    seed: int,
    reference_recogniser: Recogniser | None = None,
    watts: Sequence[float] = FAR_END_WATTS,
    tries: int = TRIES,
) -> FarCopies:
    """Return what is copied of a take at each power.

    exchange: that of the prompt, None if it has none. recogniser: for the take.
    reference_recogniser: for the reference voice, None for the same one. path_snr_db, seed and the
    rest: as in drill.sending.far_end.simulate_far_ends.

    Raises: NoRecogniser, NoVoice, UserError; ValueError if the clip is silent.
    """
    operator = reference_operator()
    station = _FarStation(prompt, exchange)
    voice, _ = trim_silence(clip)
    quiet = station.copy(simulate(voice, without_noise(conditions), seed).clip, recogniser)
    arrived = sum(confidence is not None for confidence in quiet.units)
    check = VoiceCheck(words=len(quiet.units), right=arrived)
    powers: list[PowerCopies] = []
    if check.share_right >= MIN_SHARE_RIGHT:
        reference, _ = trim_silence(voices.speak(prompt.words, operator, prompt.seed))
        for power in watts:
            path = far_end_conditions(conditions, path_snr_db, power)
            assert path.snr_db is not None
            seeds = range(seed, seed + tries)
            powers.append(
                PowerCopies(
                    watts=power,
                    snr_db=path.snr_db,
                    take=station.copy_tries(voice, path, seeds, recogniser),
                    reference=station.copy_tries(
                        reference, path, seeds, reference_recogniser or recogniser
                    ),
                )
            )
    return FarCopies(operator=operator.name, tries=tries, check=check, powers=tuple(powers))


def without_noise(conditions: Conditions) -> Conditions:
    """Return noiseless conditions with the same speech processing and a wide receiver."""
    return Conditions(
        snr_db=None,
        transmitter=replace(conditions.transmitter, off_frequency_hz=0.0),
        receiver=replace(parse_receiver("wide"), agc="off"),
    )


def far_grammar(prompt: Prompt, exchange: Exchange | None) -> Grammar:
    """Return what the far station expects: the prompt's fields, once or twice, with any content.

    Raises: KeyError if a field is neither a call nor a suffix nor in the exchange.
    """
    around = any_number(choice(sorted(procedure_words() - SOUND_LIKE_DIGITS)), RARE_WEIGHT)
    parts: list[Expression] = [around]
    if prompt.opening:
        parts.append(optional(choice(prompt.opening)))
    for field in prompt.fields:
        parts += [_field_expression(field, exchange), around]
    message = sequence(*parts)
    said_again = optional(message, RARE_WEIGHT)
    return build_grammar("far end", sequence(message, said_again), FILLER_WORDS, RARE_WEIGHT)


def _field_expression(field: Field, exchange: Exchange | None) -> Expression:
    if field.kind == "call":
        return call_expression(alternates=True)
    if field.kind == "suffix":
        return spelt_expression(alternates=True, at_most=4)
    rules = {rule.name: rule for rule in (exchange.fields if exchange else ())}
    return field_expression(rules[field.name], alternates=True)


def _unit_copies(
    graph: ExpectedGraph, number: int, confidences: Sequence[float | None]
) -> UnitCopies:
    unit = graph.units[number]
    sure = [confidence for confidence in confidences if confidence is not None]
    return UnitCopies(
        say=" ".join(unit.forms[0]),
        means=unit.means,
        field=unit.field,
        copied=len(sure),
        confidence=round(sum(sure) / len(sure), 3) if sure else 0.0,
    )
