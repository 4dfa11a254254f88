"""Whole overs as operators speak them, with the meaning of every word.

A template is a line of plain words. `{call}`, `{exchange}` and `{suffix}` are replaced by words; a
comma or full stop after a word is the pause that follows it. The wordings are common practice, no
source.
"""

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from random import Random

from phonetics.alphabets import alphabet_vocabulary, spell
from phonetics.callsigns import Callsign
from phonetics.exchanges import Exchange
from phonetics.field_kinds import FIELD_KINDS
from phonetics.message import Field, Message, Word
from phonetics.over_style import OverStyle
from phonetics.word_lists import given_names

MESSAGE_PARTS = ("call", "exchange", "over")
CALL_FIELD = "call"

# Overs to copy, from terse to chatty.
OVER_TEMPLATES: tuple[str, ...] = (
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
EXCHANGE_TEMPLATES: tuple[str, ...] = (
    "{exchange}",
    "{exchange}",
    "you are {exchange}",
    "roger, {exchange}",
    "thank you, you are {exchange}",
    "please copy {exchange}, over",
    "thanks for the call. you are {exchange}, over",
)
PHRASE_TEMPLATES: Mapping[str, tuple[str, ...]] = {
    "general-call": (
        "cq contest, {call}",
        "cq contest, cq contest, {call}, {call}, contest",
        "contest, {call}",
        "cq, cq, this is {call}, {call}, calling cq contest",
        "any more calls, {call}",
    ),
    "answer": ("{call}", "{call}", "this is {call}", "{call}, {call}"),
    "report": EXCHANGE_TEMPLATES,
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
FIELD_LABELS = frozenset(kind.label for kind in FIELD_KINDS.values() if kind.label) | {
    "number",
    "my",
}
HESITATION_WORD = "er"
_SLOT = re.compile(r"\{(\w+)\}")

Slots = Mapping[str, Sequence[Word]]
"""The words that replace each `{name}` of a template."""


def compose_message(
    rng: Random,
    *,
    part: str,
    exchange: Exchange | None,
    call: Callsign,
    progress: int,
    over_style: OverStyle,
) -> Message:
    """Return the message that station `call` sends: its call, an exchange, or an over with both.

    part: one of MESSAGE_PARTS. exchange: required unless part is "call". progress: contacts so far,
    for serial numbers. Only the words depend on the over style, not the fields.

    Raises: ValueError for an unknown part, or a missing exchange.
    """
    if part not in MESSAGE_PARTS:
        raise ValueError(f"part {part!r} is unknown; use one of {', '.join(MESSAGE_PARTS)}")
    call_field = Field(name=CALL_FIELD, kind="call", text=call.text)
    if part == "call":
        words = _say(call_field, over_style, rng)
        return Message(part=part, exchange="", call=call.text, fields=(call_field,), words=words)
    if exchange is None:
        raise ValueError(f"part {part!r} needs an exchange")
    exchanged = exchange.compose(rng, call, progress=progress)
    # An exchange that contains the call determines its position, so the over does not add the call.
    without_call = part == "exchange" or exchange.has_call
    templates = EXCHANGE_TEMPLATES if without_call else OVER_TEMPLATES
    slots = {
        "call": _say_call_once_or_twice(call_field, over_style, rng),
        "exchange": _say_exchange(exchanged, over_style, rng),
    }
    return Message(
        part=part,
        exchange=exchange.name,
        call=call.text,
        fields=exchanged if without_call else (call_field, *exchanged),
        words=_fill(_draw_template(templates, over_style, rng), slots),
    )


def compose_phrase(
    rng: Random,
    kind: str,
    *,
    call: Callsign,
    over_style: OverStyle,
    fields: Sequence[Field] = (),
) -> Message:
    """Return a phrase that station `call` says; kind: a key of PHRASE_TEMPLATES.

    fields: the fields of a report.

    Raises: ValueError for an unknown kind, or a report without fields.
    """
    if kind not in PHRASE_TEMPLATES:
        raise ValueError(f"phrase {kind!r} is unknown; use one of {', '.join(PHRASE_TEMPLATES)}")
    if kind == "report" and not fields:
        raise ValueError("a report needs its fields")
    call_field = Field(name=CALL_FIELD, kind="call", text=call.text)
    template = _draw_template(PHRASE_TEMPLATES[kind], over_style, rng)
    slots = {
        "call": _say(call_field, over_style, rng),
        "exchange": _say_exchange(fields, over_style, rng),
        "suffix": spell(call.suffix, rng=rng, over_style=over_style, field=CALL_FIELD),
    }
    return Message(
        part=kind,
        exchange="",
        call=call.text,
        fields=(call_field,) if "{call}" in template else tuple(fields),
        words=_fill(template, slots),
    )


def _draw_template(templates: Sequence[str], over_style: OverStyle, rng: Random) -> str:
    """Return a template; chatty operators favour templates further down the list."""
    last = len(templates) - 1
    share = rng.betavariate(1 + 3 * over_style.chatty, 2)
    return templates[min(last, int(share * len(templates)))]


def _say(field: Field, over_style: OverStyle, rng: Random) -> tuple[Word, ...]:
    return FIELD_KINDS[field.kind].say(field.text, over_style, rng, field.name)


def _say_call_once_or_twice(field: Field, over_style: OverStyle, rng: Random) -> tuple[Word, ...]:
    words = _say(field, over_style, rng)
    return (*_with_pause(words, ","), *words) if over_style.repeat_call else words


def _say_exchange(fields: Sequence[Field], over_style: OverStyle, rng: Random) -> tuple[Word, ...]:
    """Return the fields in order, with the operator's habits of labels, hesitation and pauses."""
    words: list[Word] = []
    for index, field in enumerate(fields):
        field_words = _say(field, over_style, rng)
        label = FIELD_KINDS[field.kind].label
        if over_style.labels and label and field_words[0].say != label:
            field_words = (Word(say=label), *field_words)
        if index and over_style.hesitates and rng.random() < over_style.hesitates:
            field_words = (Word(say=HESITATION_WORD, pause=","), *field_words)
        is_last = index == len(fields) - 1
        runs_on = field.kind == "report" and over_style.run_on
        words += field_words if is_last or runs_on else _with_pause(field_words, ",")
    return tuple(words)


def _with_pause(words: Sequence[Word], pause: str) -> tuple[Word, ...]:
    """Return the words with a pause after the last one; if the word already has a pause, the longer
    one is kept."""
    *before, last = words
    longer = "." if "." in (pause, last.pause) else pause or last.pause
    return (*before, replace(last, pause=longer))


def _fill(template: str, slots: Slots) -> tuple[Word, ...]:
    words: list[Word] = []
    for token in template.split():
        pause = token[-1] if token[-1] in ",." else ""
        slot = _SLOT.match(token)
        words += _with_pause(slots[slot[1]] if slot else (Word(say=token.rstrip(",.")),), pause)
    return tuple(words)


def spoken_text(message: Message) -> str:
    """Return the spoken words as one line, with pauses as commas and full stops."""
    return " ".join(word.say + word.pause for word in message.words)


def message_vocabulary() -> frozenset[str]:
    """Return every word that a message can contain, except those of the user's own exchanges."""
    templates = (*OVER_TEMPLATES, *(t for phrases in PHRASE_TEMPLATES.values() for t in phrases))
    template_words = {
        token.rstrip(",.")
        for template in templates
        for token in template.split()
        if not _SLOT.match(token)
    }
    field_words = {"one", "kilowatt", "watts", "number", HESITATION_WORD} | {
        name.lower() for name in given_names()
    }
    return frozenset(template_words | FIELD_LABELS | field_words) | alphabet_vocabulary()
