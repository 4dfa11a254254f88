"""The two logs of a contact side by side: what is right, what is wrong, and whose it is."""

from collections.abc import Sequence
from dataclasses import dataclass

from drill.contact.evidence import Evidence
from drill.contact.far_states import LogLine
from drill.contact.notes import LogEntry
from drill.contact.overs import Speaker
from drill.scoring.answers import is_field_right, score_answer
from phonetics.message import Field

LEAST_ALIKE = 0.6
"""Share of the own call's characters that a line of the far log has to have to be about it."""


@dataclass(frozen=True, kw_only=True, slots=True)
class BothLogs:
    """The logs of both ends about one contact, and what was really given.

    my_call, my_exchange: what the trainee has of the far station; their_call, their_exchange: what
    the far station has of the trainee; all "" without a line. given_call, given_exchange: what the
    far station gave; own_call, own_exchange: what the trainee gave.
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

    @property
    def is_completed(self) -> bool:
        """True if the contact is in both logs."""
        return self.i_logged and self.they_logged

    @property
    def is_right(self) -> bool:
        """True if both logs agree with what was given."""
        mine = self.my_call_right and self.my_exchange_right
        return self.is_completed and mine and self.their_call_right and self.their_exchange_right

    @property
    def faults(self) -> tuple[str, ...]:
        """What is wrong, the trainee's own faults last.

        "not-in-their-log", "their-call", "their-exchange", "not-in-my-log", "my-call",
        "my-exchange". A contact that is in neither log has no fault: it was not made.
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
    *, own: Speaker, far: Speaker, entry: LogEntry | None, lines: Sequence[LogLine]
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
        their_exchange_right=line is not None and _exchange_right(own, line.exchange),
    )


def line_about(call: str, lines: Sequence[LogLine]) -> LogLine | None:
    """Return the newest line of those that are most like a call, None if none is about it."""
    best: tuple[float, LogLine | None] = (LEAST_ALIKE, None)
    for line in lines:
        agreeing, contradicting = Evidence().add(tuple(call)).compare(tuple(line.call))
        alike = agreeing / max(len(call), agreeing + contradicting)
        if alike >= best[0]:
            best = (alike, line)
    return best[1]


def _exchange_right(own: Speaker, text: str) -> bool:
    """Return whether a far log's exchange, without spaces and report, has the values given."""
    if len(own.short_fields) == 1:
        return is_field_right(own.short_fields[0], text)
    return all(score.right for score in score_answer(own.short_fields, text))


def _text(fields: Sequence[Field]) -> str:
    return " ".join(field.text for field in fields)
