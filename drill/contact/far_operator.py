"""The far operator: an explicit state machine over copied characters.

Inputs are the words that its ears return and the end of each wait; it knows neither the time nor
who speaks nor what was actually said. Outputs are decisions on what to transmit, and log lines.

| state | transmits on entry | then listens for | leaves for |
|---|---|---|---|
| CALLING | general call | callers | LISTENING |
| LISTENING | - | callers; a correction from the last station | GIVING, ASKING, CALLING, ENDING |
| ASKING | the characters held, "again" | the call | AWAITING_CALL |
| AWAITING_CALL | - | the call | GIVING, ENDING, ASKING, DROPPING |
| GIVING | the call as held, the own exchange | the exchange | AWAITING_EXCHANGE |
| ASKING_EXCHANGE | "the number again" | the exchange | AWAITING_EXCHANGE |
| REPEATING | the own exchange, twice | the exchange | AWAITING_EXCHANGE |
| IDENTIFYING | the own call, twice | as before | the state before |
| AWAITING_EXCHANGE | - | the exchange | ENDING, ASKING, ASKING_EXCHANGE, GIVING, ... |
| ENDING | thanks; the line is in the log and stays open for a correction | callers | LISTENING |
| DROPPING | sorry; nothing is logged | callers | LISTENING |

A log line never has a gap. Limits and time-outs come from values.toml, section far.
"""

from collections.abc import Sequence

from drill.contact.evidence import Characters, Evidence
from drill.contact.far_states import Decision, LogLine, State, Work
from drill.contact.hearing import HeardOver
from drill.contact.overs import MISSED
from drill.contact.understanding import Understood, is_call_form, understand
from drill.contact.values import FarValues
from phonetics.exchanges import Exchange

SHORTEST_ANSWERED = 4
"""Fewest characters, gaps included, with which an incomplete call is answered."""


class FarOperator:
    """The state machine. Every method that takes an input returns the resulting Decision.

    exchange: form of the expected exchange. doubt_below: a heard word with a lower confidence
    counts as not made out.
    """

    def __init__(self, values: FarValues, exchange: Exchange, doubt_below: float) -> None:
        """Start before the first transmission."""
        self.state = State.CALLING
        self.log: list[LogLine] = []
        self._values = values
        self._doubt_below = doubt_below
        self._exchange = exchange
        self._work: Work | None = None
        self._last: Work | None = None
        self._back_to = State.LISTENING
        self._ended = False

    def start(self, state: State = State.CALLING) -> Decision:
        """Return the first transmission: a general call, or the end of another contact."""
        return self._enter(state)

    @property
    def wait_s(self) -> float:
        """Seconds of silence after which `silence` is due, in the present listening state."""
        values = self._values
        if self.state is State.LISTENING:
            return values.listen_after_end_s if self._ended else values.listen_s
        if self.state is State.AWAITING_CALL:
            return values.await_call_s
        return values.await_exchange_s

    def over_ended(self) -> None:
        """Start listening, because the operator's own over has ended."""
        after = {
            State.CALLING: State.LISTENING,
            State.ENDING: State.LISTENING,
            State.DROPPING: State.LISTENING,
            State.ASKING: State.AWAITING_CALL,
            State.IDENTIFYING: self._back_to,
        }
        self._ended = self.state in (State.ENDING, State.DROPPING)
        self.state = after.get(self.state, State.AWAITING_EXCHANGE)
        if self.state is State.LISTENING:
            self._work = None

    def is_enough(self, heard: Sequence[HeardOver]) -> bool:
        """Return whether to answer at once although somebody is still speaking."""
        understood = self._understand(heard)
        if self.state is State.LISTENING:
            return any(is_whole_call(part) for one in understood for part in one.calls)
        held = self._held
        return any(
            one.exchanges or any(held.fits(part) for part in one.calls) for one in understood
        )

    def silence(self) -> Decision:
        """Decide after a wait in which no voice was noticed."""
        work, values = self._work, self._values
        if self.state is State.LISTENING or work is None:
            return self._enter(State.CALLING)
        if self.state is State.AWAITING_CALL:
            work.asks += 1
            goes_on = work.asks <= values.max_asks and work.call.copied
            return self._enter(State.ASKING if goes_on else State.DROPPING)
        work.gives += 1
        if work.gives > values.max_gives:
            return self._enter(State.DROPPING)
        return self._enter(State.ASKING_EXCHANGE if work.exchange.copied else State.GIVING)

    def heard(self, heard: Sequence[HeardOver]) -> Decision:
        """Decide after voices were noticed and have ended."""
        understood = self._understand(heard)
        if self.state is State.LISTENING:
            return self._heard_callers(understood)
        if self.state is State.AWAITING_CALL:
            return self._heard_call(understood)
        return self._heard_exchange(understood)

    @property
    def _held(self) -> Evidence:
        work = self._work or (self._last if self.state is State.LISTENING else None)
        return Evidence() if work is None else work.call

    def _understand(self, heard: Sequence[HeardOver]) -> list[Understood]:
        held = Evidence() if self._work is None else self._work.call
        return [
            understand(
                over,
                held=held,
                exchange=self._exchange,
                expects_exchange=self.state is State.AWAITING_EXCHANGE,
                doubt_below=self._doubt_below,
            )
            for over in heard
        ]

    # --- callers

    def _heard_callers(self, understood: Sequence[Understood]) -> Decision:
        """Handle a correction of the last contact, or else answer the best caller."""
        last = self._last
        if last is not None and last.corrections < self._values.max_corrections:
            for one in understood:
                if one.corrects and any(last.call.fits(part) for part in one.calls):
                    last.corrections += 1
                    self._work = last
                    last.add_call(one, correction_votes=self._values.correction_votes)
                    last.reads_back = True
                    return self._after_call()
        return self._begin(understood)

    def _begin(self, understood: Sequence[Understood]) -> Decision:
        """Turn to the voice with the most characters made out; among equals, the strongest."""
        callers = [one for one in understood if not one.is_empty]
        if not callers:
            return self._enter(State.CALLING)
        best = max(callers, key=lambda one: (_call_characters(one), one.level_db))
        if not _call_characters(best) and best.request in ("call", "all"):
            return self._enter(State.CALLING)
        if not _call_characters(best) and best.thanks:
            return self._enter(State.CALLING)
        self._work = Work(exchange_form=self._exchange)
        self._work.add(best, correction_votes=self._values.correction_votes)
        return self._after_call()

    def _after_call(self) -> Decision:
        """Decide on the next over from the call as it is held now."""
        work, values = self._work, self._values
        assert work is not None
        complete = work.exchange_is_whole
        if work.call.is_whole and is_call_form(work.call.held):
            return self._enter(State.ENDING if complete else State.GIVING)
        nearly_whole = (
            work.call.gaps <= values.gaps_with_exchange
            and len(work.call.held) >= SHORTEST_ANSWERED
            and is_call_form(work.call.held)
        )
        if nearly_whole and not (work.asks or work.gives or complete):
            return self._enter(State.GIVING)
        work.asks += 1
        return self._enter(State.ASKING if work.asks <= values.max_asks else State.DROPPING)

    # --- the call, in answer to a request

    def _heard_call(self, understood: Sequence[Understood]) -> Decision:
        work = self._work
        assert work is not None
        if not work.call.copied:
            work.asks += 1
            asks = work.asks
            if not any(_call_characters(one) for one in understood):
                goes_on = asks <= self._values.max_asks and any(not o.is_empty for o in understood)
                return self._enter(State.ASKING if goes_on else State.DROPPING)
            decision = self._begin(understood)
            if self._work is not None and self._work is not work:
                self._work.asks = max(self._work.asks, asks)
            return decision
        mine = [one for one in understood if any(work.call.fits(part) for part in one.calls)]
        if mine:
            for one in mine:
                work.add(one, correction_votes=self._values.correction_votes)
            return self._after_call()
        asked = next((one.request for one in understood if one.request), "")
        if asked == "call":
            return self._identify(State.AWAITING_CALL)
        return self._heard_only_others(understood)

    def _heard_only_others(self, understood: Sequence[Understood]) -> Decision:
        work = self._work
        assert work is not None
        work.asks += 1
        if work.asks <= self._values.max_asks:
            return self._enter(State.ASKING)
        nearly_whole = [
            one
            for one in understood
            if any(len(p) >= 3 and p.count(MISSED) <= 1 and is_call_form(p) for p in one.calls)
        ]
        if nearly_whole:
            return self._begin(nearly_whole)
        return self._enter(State.DROPPING)

    # --- the exchange

    def _heard_exchange(self, understood: Sequence[Understood]) -> Decision:
        work, values = self._work, self._values
        assert work is not None
        relevant = [one for one in understood if self._concerns_me(one)]
        if not relevant:
            return self.silence()
        best = max(relevant, key=lambda one: (bool(one.exchanges), one.copied, one.level_db))
        before = work.call.held
        if any(work.call.fits(part) for part in best.calls):
            work.add_call(best, correction_votes=self._values.correction_votes)
            work.reads_back = work.reads_back or best.corrects or work.call.held != before
        if best.request:
            return self._answer_request(best.request)
        if best.exchanges:
            for part in best.exchanges:
                work.exchange = work.exchange.add(part)
            if work.exchange_is_whole:
                return self._after_call()
        elif best.calls:
            work.gives += 1
            goes_on = work.gives <= values.max_gives + 1
            return self._enter(State.GIVING if goes_on else State.DROPPING)
        work.exchange_asks += 1
        goes_on = work.exchange_asks <= values.max_exchange_asks
        return self._enter(State.ASKING_EXCHANGE if goes_on else State.DROPPING)

    def _concerns_me(self, one: Understood) -> bool:
        work = self._work
        assert work is not None
        if one.exchanges or one.request or one.thanks or one.corrects:
            return True
        return any(work.call.fits(part) for part in one.calls)

    def _answer_request(self, request: str) -> Decision:
        work = self._work
        assert work is not None
        work.gives += 1
        if work.gives > self._values.max_gives + 1:
            return self._enter(State.DROPPING)
        if request == "call":
            return self._identify(State.AWAITING_EXCHANGE)
        return self._enter(State.REPEATING if request == "exchange" else State.GIVING)

    def _identify(self, back_to: State) -> Decision:
        self._back_to = back_to
        return self._enter(State.IDENTIFYING)

    # --- transmitting

    def _enter(self, state: State) -> Decision:
        self.state = state
        work = self._work
        call: Characters = ()
        if work is not None and state in (State.ASKING, State.GIVING):
            call = work.call.held
        if state is State.ENDING:
            if work is not None:
                call = work.call.held if work.reads_back else ()
                new = work.line is None
                line = work.write_line()
                if new:
                    self.log.append(line)
            self._last = work
        elif state is State.DROPPING:
            self._last = None
        elif state is State.GIVING:
            self._last = None  # the next contact has begun, so the last one is closed
        return Decision(state, call)


def _call_characters(one: Understood) -> int:
    """Return how many characters of a call were made out."""
    return max((sum(c != MISSED for c in part) for part in one.calls), default=0)


def is_whole_call(part: Characters) -> bool:
    """Return whether characters are a whole call without a gap."""
    return MISSED not in part and is_call_form(part)
