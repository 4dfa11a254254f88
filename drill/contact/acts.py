"""The trainee's acts: saying something, noting, logging, leaving. Each has a sample time."""

from collections.abc import Mapping
from dataclasses import dataclass
from random import Random
from types import MappingProxyType

from drill.contact.callers import missing_characters
from drill.contact.far_states import State
from drill.contact.notes import LogEntry
from drill.contact.overs import Over, Speaker, exchange_label
from drill.core.validation import one_of

NOTE, LOG, LEAVE, BREAK_OFF, VOICE = "note", "log", "leave", "break-off", "voice"
CALL, PART, CORRECTION, EXCHANGE = "call", "part", "correction", "exchange"
AGAIN, AGAIN_PART, THANKS = "again", "again-part", "thanks"
SAYINGS: Mapping[str, str] = MappingProxyType(
    {
        CALL: "my whole call",
        PART: "the part they asked for",
        CORRECTION: "correction, and my call",
        EXCHANGE: "my exchange",
        AGAIN: "again, all of it",
        AGAIN_PART: "again, the missing part",
        THANKS: "thanks",
    }
)
"""The overs that a key sends, each with a description."""
ACT_KINDS = (*SAYINGS, VOICE, NOTE, LOG, LEAVE, BREAK_OFF)
KEYS: Mapping[str, str] = MappingProxyType(
    {
        "m": CALL,
        "p": PART,
        "w": CORRECTION,
        "x": EXCHANGE,
        "a": AGAIN,
        "b": AGAIN_PART,
        "t": THANKS,
        "l": LOG,
    }
)
"""The letter of each act, the same on every screen. Leaving and breaking off share the key "."."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Act:
    """One act of the trainee.

    at: time in samples from the start of the contact. kind: one of ACT_KINDS. text: the note; for
    an over from the microphone, the recognised words.

    Raises: UserError for an unknown kind.
    """

    at: int
    kind: str
    text: str = ""

    def __post_init__(self) -> None:
        """Check the kind."""
        one_of("kind", self.kind, ACT_KINDS, label="act")


def compose_saying(kind: str, speaker: Speaker, last_far: Over | None, entry: LogEntry) -> Over:
    """Return the over that a key of the trainee sends.

    kind: a key of SAYINGS. last_far: the far station's last over, None before the first. entry: the
    trainee's log line so far, which shows what is missing.
    """
    part, template = "", ""
    if kind == PART:
        part, template = _asked_part(speaker, last_far)
    elif kind == AGAIN_PART:
        template = _lacking_part(speaker, entry)
    else:
        template = {
            CALL: "{call}",
            CORRECTION: "correction, {call}",
            EXCHANGE: "thank you, {exchange}",
            AGAIN: "again, again please",
            THANKS: "roger, thank you",
        }[kind]
    return Over(kind=kind, words=speaker.say(Random(0), template, part=part))


def _asked_part(speaker: Speaker, last_far: Over | None) -> tuple[str, str]:
    """Return characters and template of the part that the far station last asked for.

    It is the whole call unless the exchange or one or two characters of the call were asked for.
    """
    if last_far is not None and last_far.kind == State.ASKING_EXCHANGE.value:
        return "", "{short}, {short}"
    if last_far is not None and last_far.kind in (State.ASKING.value, State.GIVING.value):
        missing = missing_characters(last_far.call, speaker.call)
        if 0 < len(missing) <= 2:
            return missing, "{part}, {part}"
    return "", "{call}"


def _lacking_part(speaker: Speaker, entry: LogEntry) -> str:
    if not entry.call or "?" in entry.call:
        return "again please, your call, call again"
    label = exchange_label(speaker.fields)
    return f"again please, your {label}, {label} again"
