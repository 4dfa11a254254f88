"""The states of the far operator, and its information about the station that it works."""

from dataclasses import dataclass, field
from enum import Enum

from drill.contact.evidence import Characters, Evidence, is_part
from drill.contact.understanding import Understood, is_call_form, shortest_exchange
from phonetics.exchanges import Exchange


class State(Enum):
    """State of the far operator; the value is the name in records."""

    CALLING = "calling"
    LISTENING = "listening"
    ASKING = "asking"
    AWAITING_CALL = "awaiting-call"
    GIVING = "giving"
    ASKING_EXCHANGE = "asking-exchange"
    REPEATING = "repeating"
    IDENTIFYING = "identifying"
    AWAITING_EXCHANGE = "awaiting-exchange"
    ENDING = "ending"
    DROPPING = "dropping"


TRANSMITTING = frozenset(
    {
        State.CALLING,
        State.ASKING,
        State.GIVING,
        State.ASKING_EXCHANGE,
        State.REPEATING,
        State.IDENTIFYING,
        State.ENDING,
        State.DROPPING,
    }
)
"""States in which the far operator transmits and hears nothing."""


@dataclass(frozen=True, slots=True)
class Decision:
    """What the far operator transmits next.

    state: the state that it enters. call: the characters of the other call that it says, MISSED for
    those that it omits; empty for none.
    """

    state: State
    call: Characters = ()


@dataclass(slots=True)
class LogLine:
    """A line of the far operator's log; exchange: without a report that may be left out."""

    call: str
    exchange: str


@dataclass(slots=True)
class Work:
    """The station being worked: the characters held, and counts of repeats.

    exchange_form: of the exchange that is expected. asks, gives, exchange_asks, corrections: how
    often each was sent so far. reads_back: the call is said once more at the end. line: its line in
    the log, None before it is logged.
    """

    exchange_form: Exchange

    call: Evidence = field(default_factory=Evidence)
    exchange: Evidence = field(default_factory=Evidence)
    asks: int = 0
    gives: int = 0
    exchange_asks: int = 0
    corrections: int = 0
    reads_back: bool = False
    line: LogLine | None = None

    @property
    def exchange_is_whole(self) -> bool:
        """True if the exchange has no gap and is long enough."""
        enough = len(self.exchange.held) >= shortest_exchange(self.exchange_form)
        return self.exchange.is_whole and enough

    def add(self, one: Understood, *, correction_votes: int) -> None:
        """Add what a voice said about the call and the exchange.

        correction_votes: votes of each character of the call if the voice corrects something.
        """
        self.add_call(one, correction_votes=correction_votes)
        for part in one.exchanges:
            self.exchange = self.exchange.add(part)

    def add_call(self, one: Understood, *, correction_votes: int) -> None:
        """Add only what a voice said about the call."""
        votes = correction_votes if one.corrects else 1
        lengths = {len(part) for part in one.calls}
        if self.call.positions and len(lengths) == 1 and is_part(self.call, one.calls[0]):
            self.call = self.call.add_part(one.calls, votes, is_call_form)
            return
        for part in one.calls:
            self.call = self.call.add(part, votes)

    def write_line(self) -> LogLine:
        """Write the line of the log, or correct it, and return it."""
        if self.line is None:
            self.line = LogLine(call="", exchange="")
        self.line.call, self.line.exchange = self.call.text, self.exchange.text
        self.reads_back = False
        return self.line
