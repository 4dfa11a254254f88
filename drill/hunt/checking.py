"""Checks both logs of a hunt against each other and against what was sent."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass

from drill.contact.comparison import BothLogs, compare_logs
from drill.contact.far_states import LogLine
from drill.contact.notes import LogEntry
from drill.contact.overs import Speaker

RIGHT = "right"
WRONG_CALL, WRONG_EXCHANGE = "wrong-call", "wrong-exchange"
NOT_IN_THEIR_LOG, DUPLICATE, LOST_THERE = "not-in-their-log", "duplicate", "lost-there"
NOT_IN_MY_LOG = "not-in-my-log"
VERDICTS = (
    RIGHT,
    WRONG_CALL,
    WRONG_EXCHANGE,
    NOT_IN_THEIR_LOG,
    LOST_THERE,
    DUPLICATE,
    NOT_IN_MY_LOG,
)
"""The verdicts on a contact. LOST_THERE: the other station has the trainee's call or exchange
wrong. DUPLICATE: an earlier contact with the same station is right."""
_VERDICT_OF_FAULT = {
    "not-in-my-log": NOT_IN_MY_LOG,
    "my-call": WRONG_CALL,
    "not-in-their-log": NOT_IN_THEIR_LOG,
    "my-exchange": WRONG_EXCHANGE,
    "their-call": LOST_THERE,
    "their-exchange": LOST_THERE,
}
"""The verdict for each fault of drill.contact.comparison; the first fault in this order decides."""


@dataclass(frozen=True, kw_only=True, slots=True)
class CheckedContact:
    """A contact of a hunt and the verdict on it.

    number: of its line on the pad, None if the trainee did not log it. at_s: time of that line, or
    of the end of the contact, in seconds from the start of the hunt. hz: of the dial. holder:
    number of the station with which it was made, None if there was none. verdict: one of VERDICTS.
    """

    number: int | None
    at_s: float
    hz: float
    holder: int | None
    verdict: str
    logs: BothLogs

    @property
    def is_right(self) -> bool:
        """True if the contact counts: it is right in both logs, and no duplicate."""
        return self.verdict == RIGHT

    @property
    def is_lost(self) -> bool:
        """True if the contact was made but does not count, other than as a duplicate."""
        return self.verdict not in (RIGHT, DUPLICATE)


def compare_hunt_logs(
    *, own: Speaker, far: Speaker | None, entry: LogEntry | None, lines: Sequence[LogLine]
) -> BothLogs:
    """Return both logs of one contact.

    own: the trainee with the exchange of this contact. far: the station with the exchange that it
    sent, None if nobody was there. entry: the trainee's line. lines: the station's log.
    """
    if far is not None:
        return compare_logs(own=own, far=far, entry=entry, lines=lines)
    return BothLogs(
        own_call=own.call,
        own_exchange=" ".join(field.text for field in own.fields),
        given_call="",
        given_exchange="",
        i_logged=entry is not None,
        they_logged=False,
        my_call="" if entry is None else entry.call,
        my_exchange="" if entry is None else entry.exchange,
    )


def verdict_on(logs: BothLogs, *, worked: Collection[str]) -> str:
    """Return the verdict on a contact.

    worked: calls of the stations with which an earlier contact is right.
    """
    if not logs.given_call:
        return NOT_IN_THEIR_LOG
    if logs.given_call in worked and logs.my_call_right:
        return DUPLICATE
    for fault, verdict in _VERDICT_OF_FAULT.items():
        if fault in logs.faults:
            return verdict
    return RIGHT if logs.is_right else NOT_IN_THEIR_LOG


def count_verdicts(contacts: Sequence[CheckedContact]) -> dict[str, int]:
    """Return the number of contacts with each verdict that occurs, in the order of VERDICTS."""
    counts = {name: sum(c.verdict == name for c in contacts) for name in VERDICTS}
    return {name: count for name, count in counts.items() if count}


def contacts_by_quarter_hour(
    contacts: Sequence[CheckedContact], *, minutes: float
) -> tuple[tuple[int, int], ...]:
    """Return the right and the logged contacts of each quarter hour of a hunt.

    minutes: length of the hunt; the last quarter hour may be incomplete.
    """
    quarters = max(1, -(-round(minutes * 60) // 900))
    right, logged = [0] * quarters, [0] * quarters
    for contact in contacts:
        place = min(int(contact.at_s // 900), quarters - 1)
        right[place] += contact.is_right
        logged[place] += contact.number is not None
    return tuple(zip(right, logged, strict=True))
