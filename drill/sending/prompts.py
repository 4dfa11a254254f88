"""Prompts: what the trainee is asked to say, composed from a seed.

The own call and exchange are the caller's; other calls are fictional, composed at random. How
operators ask and answer is common practice, no source.
"""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from random import Random

from drill.core.errors import UserError
from drill.sending.models import FAULT, UNSURE, Prompt, Review
from phonetics.alphabets import spell
from phonetics.callsign_mixes import CallsignMix, compose_callsign
from phonetics.callsigns import Callsign, parse_callsign
from phonetics.exchanges import Exchange
from phonetics.field_kinds import FIELD_KINDS as FIELDS
from phonetics.message import Field, Word
from phonetics.over_style import PLAIN_OVER_STYLE

OPENING = ("negative", "no", "correction", "sorry")
TURNED_BACK = 1.0
"""How much likelier a prompt comes for every fault found in its like."""
MOST_CONTACTS = 200
"""Contacts behind the trainee, for serial numbers: drawn below this."""
NEWEST = 40
"""Takes that the choice looks back on."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Station:
    """Whose prompts they are: the own call, the exchange given, and the mix of others' calls."""

    call: Callsign
    exchange: Exchange
    mix: str | CallsignMix = "unassigned"


def station(call: str, exchange: Exchange) -> Station:
    """Return the station of a call as typed. Raises: UserError where it has no form of a call."""
    try:
        own = parse_callsign("".join(call.split()).upper())
    except ValueError as error:
        raise UserError(f"own call: {error}") from None
    return Station(call=own, exchange=exchange)


Asked = tuple[str, tuple[Field, ...], tuple[str, ...]]


def _call(at: Station, rng: Random) -> Asked:
    return "Give your own call, once.", (_own(at),), ()


def _exchange(at: Station, rng: Random) -> Asked:
    fields = _fields(at, rng)
    return f"Give your exchange: {_text(fields)}.", fields, ()


def _answer(at: Station, rng: Random) -> Asked:
    other = compose_callsign(rng, mix=at.mix)
    fields = tuple(field for field in _fields(at, rng) if field.kind != "call")
    named = Field(name="call", kind="call", text=other.text)
    says = f"{other.text} has called you. Say its call, then your exchange: {_text(fields)}."
    return says, (named, *fields), ()


def _correction(at: Station, rng: Random) -> Asked:
    wrong = _misheard(at.call, rng)
    says = f"Your call was taken as {wrong}. Say that it is wrong, then your call."
    return says, (_own(at),), OPENING


def _suffix(at: Station, rng: Random) -> Asked:
    field = Field(name="suffix", kind="suffix", text=at.call.suffix)
    return "You are asked: the suffix again, please. Give it.", (field,), ()


def _number(at: Station, rng: Random) -> Asked:
    fields = _fields(at, rng)
    last = fields[-1]
    return f"You are asked: the {last.name} again, please. It is {last.text}.", (last,), ()


KINDS: Mapping[str, tuple[str, Callable[[Station, Random], Asked]]] = {
    "call": ("your own call", _call),
    "exchange": ("your exchange", _exchange),
    "answer": ("another station's call and your exchange", _answer),
    "correction": ("your call, after it was taken wrongly", _correction),
    "suffix": ("a part of your call, asked for again", _suffix),
    "part": ("a part of your exchange, asked for again", _number),
}
"""Each kind of prompt: what it asks for in a few words, and what composes it."""


def prompt(kind: str, at: Station, seed: int) -> Prompt:
    """Return the prompt of a kind that follows from a seed. Raises: UserError for another kind."""
    if kind not in KINDS:
        raise UserError(f"there is no prompt {kind!r}; choose one of {', '.join(KINDS)}")
    rng = Random(f"faintcall prompt {seed} {kind}")
    says, fields, opening = KINDS[kind][1](at, rng)
    own = next((field for field in fields if field.kind == "call"), None)
    return Prompt(
        kind=kind,
        seed=seed,
        says=says,
        call=at.call.text,
        exchange="" if own in fields and len(fields) == 1 else at.exchange.name,
        fields=fields,
        words=tuple(_standard(fields, opening)),
        opening=opening,
    )


def _fields(at: Station, rng: Random) -> tuple[Field, ...]:
    return at.exchange.compose(rng, at.call, progress=rng.randrange(MOST_CONTACTS))


def _own(at: Station) -> Field:
    return Field(name="call", kind="call", text=at.call.text)


def _text(fields: Iterable[Field]) -> str:
    return " ".join(field.text for field in fields)


def _standard(fields: Iterable[Field], opening: tuple[str, ...]) -> Iterable[Word]:
    """Return the fields by the ITU's words and figure by figure, a short break between them."""
    if opening:
        yield Word(say=opening[0], pause=",")
    for field in fields:
        rng = Random(0)
        if field.kind in FIELDS:
            said = FIELDS[field.kind].say(field.text, PLAIN_OVER_STYLE, rng, field.name)
        else:
            said = spell(field.text, rng=rng, over_style=PLAIN_OVER_STYLE, field=field.name)
        *before, last = said
        yield from before
        yield Word(say=last.say, means=last.means, field=last.field, pause=",")


def _misheard(call: Callsign, rng: Random) -> str:
    """Return the call with one letter of its suffix taken for another."""
    at = rng.randrange(len(call.suffix))
    others = [c for c in "ABCDEFGHIJKLMNOPQRSTUVWXYZ" if c != call.suffix[at]]
    return call.prefix + call.digit + call.suffix[:at] + rng.choice(others) + call.suffix[at + 1 :]


def weights(past: Iterable[tuple[Prompt, Review]]) -> dict[str, float]:
    """Return how likely each kind is to come next: what was said badly comes back sooner.

    past: prompts and their reviews, newest first. A fault or doubt counts less the older it is.
    """
    found = dict.fromkeys(KINDS, 1.0)
    for age, (asked, review) in enumerate(past):
        if age >= NEWEST:
            break
        if asked.kind in found:
            bad = sum(finding.weight in (FAULT, UNSURE) for finding in review.findings)
            found[asked.kind] += TURNED_BACK * min(bad, 4) * 0.9**age
    return found


def choose(at: Station, seed: int, past: Iterable[tuple[Prompt, Review]] = ()) -> Prompt:
    """Return the next prompt: its kind drawn by `weights`, the rest from the seed."""
    likely = weights(past)
    rng = Random(f"faintcall kind of prompt {seed}")
    kind = rng.choices(list(likely), list(likely.values()))[0]
    return prompt(kind, at, seed)
