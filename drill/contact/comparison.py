"""Compares the two logs of a contact: what is right, what is wrong, and at which end."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from drill.contact.acts import VOICE
from drill.contact.evidence import Evidence
from drill.contact.far_states import LogLine
from drill.contact.notes import LogEntry
from drill.contact.overs import Over, Speaker
from drill.scoring.answers import is_field_right, score_answer
from phonetics.message import Field

LEAST_ALIKE = 0.6
"""A line of the far log is about the trainee if it has at least this share of the call's
characters."""


@dataclass(frozen=True, kw_only=True, slots=True)
class BothLogs:
    """Both logs of one contact, and the calls and exchanges that were actually sent.

    my_call, my_exchange: the trainee's log of the far station; their_call, their_exchange: the far
    station's log of the trainee; all "" without a line. given_call, given_exchange: sent by the far
    station; own_call, own_exchange: of the trainee; own_exchange_sent: whether the trainee sent the
    exchange.
    """

    own_call: str
    own_exchange: str
    given_call: str
    given_exchange: str
    i_logged: bool
    they_logged: bool
    my_call: str = ""
    my_exchange: str = ""
    their_call: str = ""
    their_exchange: str = ""
    my_call_right: bool = False
    my_exchange_right: bool = False
    their_call_right: bool = False
    their_exchange_right: bool = False
    own_exchange_sent: bool = True

    @property
    def is_completed(self) -> bool:
        """True if the contact is in both logs."""
        return self.i_logged and self.they_logged

    @property
    def is_right(self) -> bool:
        """True if both logs agree with what was sent."""
        mine = self.my_call_right and self.my_exchange_right
        return self.is_completed and mine and self.their_call_right and self.their_exchange_right

    @property
    def faults(self) -> tuple[str, ...]:
        """The faults; those in the trainee's own log come last.

        "not-in-their-log", "their-call", "their-exchange", "not-in-my-log", "my-call",
        "my-exchange". A contact that is in neither log was not made and has no faults.
        """
        if not (self.i_logged or self.they_logged):
            return ()
        checks = (
            ("not-in-their-log", self.they_logged),
            ("their-call", self.their_call_right or not self.they_logged),
            ("their-exchange", self.their_exchange_right or not self.they_logged),
            ("not-in-my-log", self.i_logged),
            ("my-call", self.my_call_right or not self.i_logged),
            ("my-exchange", self.my_exchange_right or not self.i_logged),
        )
        return tuple(name for name, right in checks if not right)


def compare_logs(
    *,
    own: Speaker,
    far: Speaker,
    entry: LogEntry | None,
    lines: Sequence[LogLine],
    own_exchange_sent: bool = True,
) -> BothLogs:
    """Return both logs.

    entry: the trainee's line, None if nothing was logged. lines: the far station's log.
    """
    line = line_about(own.call, lines)
    call_field = Field(name="call", kind="call", text=far.call)
    has_call = any(field.kind == "call" for field in far.fields)
    fields = far.fields if has_call else (call_field, *far.fields)
    scores = score_answer(fields, entry.text) if entry is not None else ()
    return BothLogs(
        own_call=own.call,
        own_exchange=_text(own.fields),
        given_call=far.call,
        given_exchange=_text(far.fields),
        i_logged=entry is not None,
        they_logged=line is not None,
        my_call="" if entry is None else entry.call,
        my_exchange="" if entry is None else entry.exchange,
        their_call="" if line is None else line.call,
        their_exchange="" if line is None else line.exchange,
        my_call_right=any(score.right for score in scores if score.name == "call"),
        my_exchange_right=bool(scores)
        and all(score.right for score in scores if score.name != "call"),
        their_call_right=line is not None and line.call == own.call,
        their_exchange_right=line is not None and is_exchange_right(own, line.exchange),
        own_exchange_sent=own_exchange_sent,
    )


def has_sent_exchange(own: Speaker, overs: Iterable[Over]) -> bool:
    """Return whether one of the trainee's overs contains any of the exchange.

    An over by microphone counts, because its words are not known for certain.
    """
    names = {field.name for field in own.fields if field.kind != "call"}
    return any(
        VOICE in over.kind.split("+") or any(word.field in names for word in over.words)
        for over in overs
    )


def line_about(call: str, lines: Sequence[LogLine]) -> LogLine | None:
    """Return the line that is most like a call, the newest of several; None if none is about it."""
    best: tuple[float, LogLine | None] = (LEAST_ALIKE, None)
    for line in lines:
        agreeing, contradicting = Evidence().add(tuple(call)).compare(tuple(line.call))
        alike = agreeing / max(len(call), agreeing + contradicting)
        if alike >= best[0]:
            best = (alike, line)
    return best[1]


def is_exchange_right(own: Speaker, text: str) -> bool:
    """Return whether an exchange in a far log (without spaces and report) has the values sent."""
    if len(own.short_fields) == 1:
        return is_field_right(own.short_fields[0], text)
    return all(score.right for score in score_answer(own.short_fields, text))


def _text(fields: Sequence[Field]) -> str:
    return " ".join(field.text for field in fields)
