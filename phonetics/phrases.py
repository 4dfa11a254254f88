"""Whole overs as they are spoken, with the truth beside every word.

Conventions: a template is a line of plain words; `{call}`, `{exchange}` and `{suffix}` stand for
what they name, a comma or a full stop after a word for the break that follows it. How operators put
an over is common practice, no source.
"""

import re
from collections.abc import Mapping, Sequence
from random import Random

from phonetics.alphabets import alphabet_vocabulary, spell
from phonetics.callsigns import Callsign
from phonetics.exchanges import KINDS, Exchange
from phonetics.kinds import given_names
from phonetics.manners import Manner
from phonetics.message import Field, Message, Word

PARTS = ("call", "exchange", "over")
CALL_FIELD = "call"

# What a station says that is to be copied whole: the spare ones first, the chatty ones last.
OVERS: tuple[str, ...] = (
    "{call}, {exchange}",
    "{exchange}, {call}",
    "this is {call}, {exchange}",
    "{call}, you are {exchange}",
    "{call}, roger, {exchange}",
    "thank you, {exchange}, {call}",
    "roger, you are {exchange}, from {call}, over",
    "good morning, this is {call}. you are {exchange}, over",
    "thanks for the call, this is {call}. my report is {exchange}, over",
    "hello, {call} here. please copy {exchange}. good luck",
)
EXCHANGES: tuple[str, ...] = (
    "{exchange}",
    "{exchange}",
    "you are {exchange}",
    "roger, {exchange}",
    "thank you, you are {exchange}",
    "please copy {exchange}, over",
    "thanks for the call. you are {exchange}, over",
)
PHRASES: Mapping[str, tuple[str, ...]] = {
    "general-call": (
        "cq contest, {call}",
        "cq contest, cq contest, {call}, {call}, contest",
        "contest, {call}",
        "cq, cq, this is {call}, {call}, calling cq contest",
        "any more calls, {call}",
    ),
    "answer": ("{call}", "{call}", "this is {call}", "{call}, {call}"),
    "report": EXCHANGES,
    "confirmation": (
        "roger, thank you, {call}",
        "thanks, {call}",
        "roger, roger",
        "thank you, good luck, {call}, contest",
    ),
    "repeat-request": (
        "again, again, please",
        "say again your call, please",
        "please say again the number",
        "your call again, please, over",
        "sorry, all again, please",
        "the suffix again, please",
    ),
    "correction": (
        "negative, negative, {call}",
        "no, no, the call is {call}, {call}",
        "correction, {call}, over",
        "negative, the suffix is {suffix}, {suffix}",
    ),
}
LABELS = frozenset(kind.label for kind in KINDS.values() if kind.label) | {"number", "my"}
HESITATION = "er"
_SLOT = re.compile(r"\{(\w+)\}")

Slots = Mapping[str, Sequence[Word]]


def compose_message(
    rng: Random,
    *,
    part: str,
    exchange: Exchange | None,
    call: Callsign,
    progress: int,
    manner: Manner,
) -> Message:
    """Return what the station `call` says: a lone call, an exchange, or an over that holds both.

    part: one of PARTS. exchange: needed for all but "call". progress: contacts so far, for serial
    numbers. What is to be copied does not depend on the manner.

    Raises: ValueError where part is unknown or has no exchange.
    """
    if part not in PARTS:
        raise ValueError(f"part {part!r} is unknown; use one of {', '.join(PARTS)}")
    call_field = Field(name=CALL_FIELD, kind="call", text=call.text)
    if part == "call":
        words = _say(call_field, manner, rng)
        return Message(part=part, exchange="", call=call.text, fields=(call_field,), words=words)
    if exchange is None:
        raise ValueError(f"part {part!r} needs an exchange")
    given = exchange.compose(rng, call, progress=progress)
    # An exchange that holds the call itself says it in its own place.
    alone = part == "exchange" or exchange.has_call
    templates, fields = (EXCHANGES, given) if alone else (OVERS, (call_field, *given))
    slots = {
        "call": _calls(call_field, manner, rng),
        "exchange": _say_exchange(given, manner, rng),
    }
    words = _fill(_draw(templates, manner, rng), slots)
    return Message(part=part, exchange=exchange.name, call=call.text, fields=fields, words=words)


def compose_phrase(
    rng: Random,
    kind: str,
    *,
    call: Callsign,
    manner: Manner,
    fields: Sequence[Field] = (),
) -> Message:
    """Return a phrase of one of PHRASES that the station `call` says; fields fill a report.

    Raises: ValueError where the kind is unknown, or is a report without fields.
    """
    if kind not in PHRASES:
        raise ValueError(f"phrase {kind!r} is unknown; use one of {', '.join(PHRASES)}")
    if kind == "report" and not fields:
        raise ValueError("a report needs the fields that it gives")
    call_field = Field(name=CALL_FIELD, kind="call", text=call.text)
    template = _draw(PHRASES[kind], manner, rng)
    slots = {
        "call": _say(call_field, manner, rng),
        "exchange": _say_exchange(fields, manner, rng),
        "suffix": spell(call.suffix, rng=rng, manner=manner, field=CALL_FIELD),
    }
    holds_call = "{call}" in template
    return Message(
        part=kind,
        exchange="",
        call=call.text,
        fields=(call_field,) if holds_call else tuple(fields),
        words=_fill(template, slots),
    )


def _draw(templates: Sequence[str], manner: Manner, rng: Random) -> str:
    """Return a template; the chattier the operator, the further down the list."""
    last = len(templates) - 1
    return templates[min(last, int(rng.betavariate(1 + 3 * manner.chatty, 2) * len(templates)))]


def _say(field: Field, manner: Manner, rng: Random) -> tuple[Word, ...]:
    return KINDS[field.kind].say(field.text, manner, rng, field.name)


def _calls(field: Field, manner: Manner, rng: Random) -> tuple[Word, ...]:
    """Return the call once, or twice by those who repeat it."""
    said = _say(field, manner, rng)
    return (*_pause(said, ","), *said) if manner.repeat_call else said


def _say_exchange(fields: Sequence[Field], manner: Manner, rng: Random) -> tuple[Word, ...]:
    """Return the fields in order, with labels and breaks as the operator has the habit of."""
    words: list[Word] = []
    for place, field in enumerate(fields):
        said = _say(field, manner, rng)
        label = KINDS[field.kind].label
        if manner.labels and label and said[0].say != label:
            said = (Word(say=label), *said)
        if place and manner.hesitates and rng.random() < manner.hesitates:
            said = (Word(say=HESITATION, pause=","), *said)
        last = place == len(fields) - 1
        running_on = field.kind == "report" and manner.run_on
        words += said if last or running_on else _pause(said, ",")
    return tuple(words)


def _pause(words: Sequence[Word], pause: str) -> tuple[Word, ...]:
    """Return the words with a break after the last, the longer one where there is one already."""
    *before, last = words
    kept = "." if "." in (pause, last.pause) else pause or last.pause
    return (*before, Word(say=last.say, means=last.means, field=last.field, pause=kept))


def _fill(template: str, slots: Slots) -> tuple[Word, ...]:
    words: list[Word] = []
    for token in template.split():
        pause = token[-1] if token[-1] in ",." else ""
        slot = _SLOT.match(token)
        said = slots[slot[1]] if slot else (Word(say=token.rstrip(",.")),)
        words += _pause(said, pause)
    return tuple(words)


def text_of(message: Message) -> str:
    """Return the spoken words as a line to read, breaks as commas and full stops."""
    return " ".join(word.say + word.pause for word in message.words)


def vocabulary() -> frozenset[str]:
    """Return every word that can be said, but for those of the user's own exchanges."""
    templates = (*OVERS, *(t for phrases in PHRASES.values() for t in phrases))
    plain = {
        token.rstrip(",.")
        for template in templates
        for token in template.split()
        if not _SLOT.match(token)
    }
    spoken = {"one", "kilowatt", "watts", "number", HESITATION} | {
        name.lower() for name in given_names()
    }
    return frozenset(plain | LABELS | spoken) | alphabet_vocabulary()
