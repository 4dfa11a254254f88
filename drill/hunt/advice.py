"""The advice that the record of a hunt supports, starting with the costliest habit.

The cost of a habit is the time in seconds that the record shows: the time itself where it was lost
at a station, the hunt's mean time for a contact where a contact was lost, and the difference from
the stops without the habit where both kinds occur often enough.
"""

from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from statistics import fmean
from types import MappingProxyType

from drill.contact.debrief import CALLING, EXCHANGING, MENDING, PHASES, WAITING
from drill.hunt.checking import (
    DUPLICATE,
    LOST_THERE,
    NOT_IN_MY_LOG,
    NOT_IN_THEIR_LOG,
    WRONG_CALL,
    WRONG_EXCHANGE,
    CheckedContact,
)
from drill.hunt.results import HuntAdvice, JudgedStop, StationOption
from drill.hunt.stops import TUNING

MAX_ADVICE = 3
LEAST_COST_S = 20.0
"""A habit that cost less is not worth a piece of advice."""
LEAST_GROUP = 3
"""Minimum number of stops of each kind for a comparison."""
SOON_S = 60.0
"""A station that will probably answer within this time is worth another call."""
MISTAKE_PHASES = {
    "sent-while-they-sent": CALLING,
    "called-without-listening": CALLING,
    "called-over-others": CALLING,
    "repeated-unasked": EXCHANGING,
}
"""The phase that a mistake of a contact makes longer."""
LEAVE_SOONER, LISTEN_FIRST, MEND_AT_ONCE = "leave-sooner", "listen-first", "mend-at-once"
WAIT_FOR_END, ASK_AGAIN, NOT_TWICE = "wait-for-end", "ask-again", "not-twice"
LOG_IT, CALL_AGAIN, STOP_THERE = "log-it", "call-again", "stop-there"
HUNT_ADVICE = (
    LEAVE_SOONER,
    LISTEN_FIRST,
    MEND_AT_ONCE,
    WAIT_FOR_END,
    ASK_AGAIN,
    NOT_TWICE,
    LOG_IT,
    CALL_AGAIN,
    STOP_THERE,
    *MISTAKE_PHASES,
)
"""The kinds of advice."""

ADVISED_PHASES: Mapping[str, str] = MappingProxyType(
    {
        LEAVE_SOONER: CALLING,
        LISTEN_FIRST: WAITING,
        MEND_AT_ONCE: MENDING,
        CALL_AGAIN: CALLING,
        STOP_THERE: TUNING,
        **MISTAKE_PHASES,
    }
)
"""The phase to whose time a piece of advice refers; the other kinds refer to single contacts."""


@dataclass(frozen=True, kw_only=True, slots=True)
class HuntFacts:
    """Input of the advice; fields as in HuntResult. tuning_s: seconds of tuning."""

    seconds: float
    tuning_s: float
    contacts: Sequence[CheckedContact]
    stops: Sequence[JudgedStop]
    passed: Sequence[StationOption]

    @property
    def seconds_per_contact(self) -> float:
        """Mean time for one logged contact, at most the length of the hunt."""
        return self.seconds / max(1, sum(c.number is not None for c in self.contacts))


def best_advice(facts: HuntFacts) -> tuple[HuntAdvice, ...]:
    """Return at most MAX_ADVICE pieces of advice that the facts support."""
    found = [advice for search in _SEARCHES for advice in search(facts)]
    worth = [advice for advice in found if advice.cost_s >= LEAST_COST_S]
    return tuple(sorted(worth, key=lambda advice: -advice.cost_s)[:MAX_ADVICE])


def _advice(
    kind: str, cost_s: float, stops: Sequence[int], *, count: int | None = None, seconds: float = 0
) -> Iterator[HuntAdvice]:
    """Yield the advice if there is a case. stops: indices of the stops, the clearest case first."""
    count = len(stops) if count is None else count
    if count:
        first = stops[0] if stops else None
        yield HuntAdvice(
            kind=kind, cost_s=round(cost_s, 1), count=count, stop=first, seconds=round(seconds, 1)
        )


def _leave_sooner(facts: HuntFacts) -> Iterator[HuntAdvice]:
    """Stops that went on after several unanswered calls, although another station was better."""
    cases = [i for i, s in enumerate(facts.stops) if s.stop.too_long_s > 0 and s.better is not None]
    cases.sort(key=lambda index: -facts.stops[index].stop.too_long_s)
    cost_s = sum(facts.stops[index].stop.too_long_s for index in cases)
    yield from _advice(LEAVE_SOONER, cost_s, cases, seconds=cost_s)


def _listen_first(facts: HuntFacts) -> Iterator[HuntAdvice]:
    """Stations that were called before they had said their call."""
    answered = [(i, s.stop) for i, s in enumerate(facts.stops) if s.stop.replied]
    blind = [(index, stop) for index, stop in answered if stop.knew_call is False]
    others = [stop.seconds for _, stop in answered if stop.knew_call]
    if len(blind) < LEAST_GROUP or len(others) < LEAST_GROUP:
        return
    more_s = fmean(stop.seconds for _, stop in blind) - fmean(others)
    blind.sort(key=lambda entry: -entry[1].seconds)
    yield from _advice(
        LISTEN_FIRST, more_s * len(blind), [index for index, _ in blind], seconds=more_s
    )


def _mend_at_once(facts: HuntFacts) -> Iterator[HuntAdvice]:
    """Contacts logged by the other station with a wrong call that the trainee did not correct."""
    cases = [
        index
        for index, stop in enumerate(facts.stops)
        if stop.contact is not None
        and facts.contacts[stop.contact].verdict == LOST_THERE
        and "exchange-while-wrong" in stop.mistakes
    ]
    yield from _advice(MEND_AT_ONCE, len(cases) * facts.seconds_per_contact, cases)


def _lost(kind: str, verdicts: Collection[str]) -> Callable[[HuntFacts], Iterator[HuntAdvice]]:
    """Return the search for contacts that were lost with one of the verdicts."""

    def search(facts: HuntFacts) -> Iterator[HuntAdvice]:
        lost = [index for index, c in enumerate(facts.contacts) if c.verdict in verdicts]
        stops = [index for index, stop in enumerate(facts.stops) if stop.contact in lost]
        yield from _advice(kind, len(lost) * facts.seconds_per_contact, stops, count=len(lost))

    return search


def _not_twice(facts: HuntFacts) -> Iterator[HuntAdvice]:
    """Stops at stations that the trainee worked twice."""
    twice = [i for i, c in enumerate(facts.contacts) if c.verdict == DUPLICATE]
    stops = [index for index, stop in enumerate(facts.stops) if stop.contact in twice]
    cost_s = sum(facts.stops[index].stop.seconds for index in stops)
    yield from _advice(NOT_TWICE, cost_s, stops, seconds=cost_s)


def _call_again(facts: HuntFacts) -> Iterator[HuntAdvice]:
    """Stations that were left after one call, although they would soon have answered."""
    cases = [
        (index, stop.expected_s)
        for index, stop in enumerate(facts.stops)
        if stop.stop.calls == 1
        and not stop.stop.replied
        and stop.expected_s is not None
        and stop.expected_s <= SOON_S
    ]
    if cases:
        mean_s = fmean(expected_s for _, expected_s in cases)
        gain_s = max(0.0, facts.seconds_per_contact - mean_s)
        cases.sort(key=lambda entry: entry[1])
        stops = [index for index, _ in cases]
        yield from _advice(CALL_AGAIN, gain_s * len(cases), stops, seconds=mean_s)


def _stop_there(facts: HuntFacts) -> Iterator[HuntAdvice]:
    """Stations that were heard and never called, although they would soon have answered."""
    soon = [option.expected_s for option in facts.passed if option.expected_s <= SOON_S]
    gain_s = sum(max(0.0, facts.seconds_per_contact - expected_s) for expected_s in soon)
    yield from _advice(STOP_THERE, min(gain_s, facts.tuning_s), [], count=len(soon))


def _mistakes(facts: HuntFacts) -> Iterator[HuntAdvice]:
    """Mistakes in contacts, which cost the extra time of the stops that have them."""
    for kind, phase in MISTAKE_PHASES.items():
        place = PHASES.index(phase)
        called = [(i, s) for i, s in enumerate(facts.stops) if s.stop.called_after_s is not None]
        cases = [(i, s.stop.times_s[place]) for i, s in called if kind in s.mistakes]
        others = [s.stop.times_s[place] for _, s in called if kind not in s.mistakes]
        if len(cases) < LEAST_GROUP or len(others) < LEAST_GROUP:
            continue
        more_s = fmean(seconds for _, seconds in cases) - fmean(others)
        cases.sort(key=lambda entry: -entry[1])
        stops = [index for index, _ in cases]
        yield from _advice(kind, more_s * len(cases), stops, seconds=more_s)


_SEARCHES: tuple[Callable[[HuntFacts], Iterator[HuntAdvice]], ...] = (
    _leave_sooner,
    _listen_first,
    _mend_at_once,
    _lost(WAIT_FOR_END, {NOT_IN_THEIR_LOG}),
    _lost(ASK_AGAIN, {WRONG_CALL, WRONG_EXCHANGE}),
    _lost(LOG_IT, {NOT_IN_MY_LOG}),
    _not_twice,
    _call_again,
    _stop_there,
    _mistakes,
)
