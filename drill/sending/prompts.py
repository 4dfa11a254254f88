"""Composes prompts, the words that the trainee is asked to say, from a seed.

The trainee's call and exchange are given; calls of other stations are fictional, composed at
random. The wording of questions and answers is common practice, no source.
"""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from itertools import islice
from random import Random
from string import ascii_uppercase

from drill.core.validation import one_of
from drill.sending.models import FAULT, UNSURE, Prompt, Review
from drill.sending.own_station import OwnStation
from phonetics.alphabets import spell
from phonetics.callsign_mixes import compose_callsign
from phonetics.callsigns import Callsign
from phonetics.field_kinds import FIELD_KINDS
from phonetics.message import Field, Word
from phonetics.over_style import PLAIN_OVER_STYLE

CORRECTION_OPENINGS = ("negative", "no", "correction", "sorry")
WEIGHT_PER_FINDING = 1.0
"""Weight that each fault or doubt in the last takes of a prompt adds to its kind."""
MAX_COUNTED_FINDINGS = 4
"""Largest number of findings of one take that count towards the weight."""
WEIGHT_DECAY = 0.9
"""Factor on the added weight for every take that is newer."""
MAX_CONTACTS = 200
"""The trainee's number of contacts, from which serial numbers follow, is drawn below this."""
RECENT_TAKES = 40
"""Number of takes considered in the choice of the next prompt."""


@dataclass(frozen=True, kw_only=True, slots=True)
class PromptContent:
    """The part of a prompt that the composer of its kind returns; see the fields of Prompt."""

    fields: tuple[Field, ...]
    opening: tuple[str, ...] = ()
    misheard: str = ""


@dataclass(frozen=True, kw_only=True, slots=True)
class PromptKind:
    """A kind of prompt: a short description, and the function that composes it."""

    description: str
    compose: Callable[[OwnStation, Random], PromptContent]


def _own_call(station: OwnStation, rng: Random) -> PromptContent:
    return PromptContent(fields=(_call_field(station.call),))


def _own_exchange(station: OwnStation, rng: Random) -> PromptContent:
    return PromptContent(fields=_exchange_fields(station, rng))


def _answer(station: OwnStation, rng: Random) -> PromptContent:
    other_call = compose_callsign(rng, mix=station.mix)
    fields = [field for field in _exchange_fields(station, rng) if field.kind != "call"]
    return PromptContent(fields=(_call_field(other_call), *fields))


def _correction(station: OwnStation, rng: Random) -> PromptContent:
    misheard = _with_another_letter(station.call, rng)
    return PromptContent(
        fields=(_call_field(station.call),), opening=CORRECTION_OPENINGS, misheard=misheard
    )


def _suffix(station: OwnStation, rng: Random) -> PromptContent:
    field = Field(name="suffix", kind="suffix", text=station.call.suffix)
    return PromptContent(fields=(field,))


def _last_field(station: OwnStation, rng: Random) -> PromptContent:
    return PromptContent(fields=_exchange_fields(station, rng)[-1:])


PROMPT_KINDS: Mapping[str, PromptKind] = {
    "call": PromptKind(description="your own call", compose=_own_call),
    "exchange": PromptKind(description="your exchange", compose=_own_exchange),
    "answer": PromptKind(description="another station's call and your exchange", compose=_answer),
    "correction": PromptKind(
        description="your call, after the other station got it wrong", compose=_correction
    ),
    "suffix": PromptKind(
        description="the suffix of your call, when you are asked for it again", compose=_suffix
    ),
    "part": PromptKind(
        description="a part of your exchange, when you are asked for it again",
        compose=_last_field,
    ),
}


def compose_prompt(kind: str, station: OwnStation, seed: int) -> Prompt:
    """Return the prompt of a kind; the seed determines it.

    Raises: UserError with field "kind" if the kind is unknown.
    """
    one_of("kind", kind, PROMPT_KINDS, label="prompt")
    content = PROMPT_KINDS[kind].compose(station, Random(f"faintcall prompt {seed} {kind}"))
    is_call_alone = [field.kind for field in content.fields] == ["call"]
    return Prompt(
        kind=kind,
        seed=seed,
        call=station.call.text,
        exchange="" if is_call_alone else station.exchange.name,
        fields=content.fields,
        words=tuple(_standard_words(content.fields, content.opening)),
        opening=content.opening,
        misheard=content.misheard,
    )


def _exchange_fields(station: OwnStation, rng: Random) -> tuple[Field, ...]:
    contacts = rng.randrange(MAX_CONTACTS)
    return station.exchange.compose(rng, station.call, progress=contacts)


def _call_field(call: Callsign) -> Field:
    return Field(name="call", kind="call", text=call.text)


def _standard_words(fields: Iterable[Field], opening: tuple[str, ...]) -> Iterable[Word]:
    """Yield the fields in the ITU's code words, digit by digit, with a short pause after each."""
    if opening:
        yield Word(say=opening[0], pause=",")
    for field in fields:
        rng = Random(0)
        if field.kind in FIELD_KINDS:
            words = FIELD_KINDS[field.kind].say(field.text, PLAIN_OVER_STYLE, rng, field.name)
        else:
            words = spell(field.text, rng=rng, over_style=PLAIN_OVER_STYLE, field=field.name)
        *first_words, last = words
        yield from first_words
        yield Word(say=last.say, means=last.means, field=last.field, pause=",")


def _with_another_letter(call: Callsign, rng: Random) -> str:
    """Return the call with one character of its suffix replaced by another letter."""
    suffix = call.suffix
    index = rng.randrange(len(suffix))
    others = [letter for letter in ascii_uppercase if letter != suffix[index]]
    return call.prefix + call.digit + suffix[:index] + rng.choice(others) + suffix[index + 1 :]


def prompt_kind_weights(reviewed: Iterable[tuple[Prompt, Review]]) -> dict[str, float]:
    """Return the weight of each kind for the next prompt; kinds that went badly come back sooner.

    reviewed: prompts and their reviews, newest first. Older findings count less.
    """
    weights = dict.fromkeys(PROMPT_KINDS, 1.0)
    for age, (prompt, review) in enumerate(islice(reviewed, RECENT_TAKES)):
        if prompt.kind in weights:
            count = sum(finding.severity in (FAULT, UNSURE) for finding in review.findings)
            counted = min(count, MAX_COUNTED_FINDINGS)
            weights[prompt.kind] += WEIGHT_PER_FINDING * counted * WEIGHT_DECAY**age
    return weights


def choose_prompt(
    station: OwnStation, seed: int, reviewed: Iterable[tuple[Prompt, Review]] = ()
) -> Prompt:
    """Return the next prompt: kind drawn by prompt_kind_weights, the rest set by the seed."""
    weights = prompt_kind_weights(reviewed)
    rng = Random(f"faintcall kind of prompt {seed}")
    kind = rng.choices(list(weights), list(weights.values()))[0]
    return compose_prompt(kind, station, seed)
