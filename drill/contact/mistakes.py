"""Mistakes in the overs of a contact that cost time or lose the contact."""

from collections.abc import Callable, Mapping, Sequence
from itertools import pairwise
from types import MappingProxyType

from drill.contact.acts import CALL, CORRECTION, EXCHANGE, PART, VOICE
from drill.contact.air import OnAir, samples
from drill.contact.callers import addresses
from drill.contact.far_states import State
from drill.contact.overs import FAR, MISSED, TRAINEE, without_gaps
from phonetics.alphabets import ALTERNATE_WORDS

ALTERNATES = frozenset(word.lower() for words in ALTERNATE_WORDS.values() for word in words)


def find_mistakes(overs: Sequence[OnAir], call: str, *, listen_s: float) -> dict[str, int]:
    """Return the mistakes in the overs of one station's frequency, most important first.

    overs: ordered by their start. call: the trainee's. listen_s: seconds for which the trainee
    should listen after a call. The result contains, for each kind of mistake (a key of MISTAKES),
    the time in samples at which it was first made.
    """
    times = {kind: check(overs, call, listen_s) for kind, check in MISTAKES.items()}
    return {kind: time for kind, time in times.items() if time is not None}


def _exchange_while_wrong(overs: Sequence[OnAir], call: str, listen_s: float) -> int | None:
    """Return the time when the exchange was sent although the station had said the call wrong."""
    wrong = False
    for over in overs:
        kinds = over.over.kind.split("+")
        if over.speaker == FAR and over.over.kind == State.GIVING.value:
            said = tuple(c for c in over.over.call if c != MISSED)
            wrong = addresses(over.over.call, call) and "".join(said) != call
        elif over.speaker == TRAINEE:
            if {CORRECTION, CALL, PART, VOICE} & set(kinds):
                wrong = False
            elif wrong and EXCHANGE in kinds:
                return over.start
    return None


def _called_without_listening(overs: Sequence[OnAir], call: str, listen_s: float) -> int | None:
    """Return the time when the call was repeated before an answer could come."""
    least = samples(listen_s)
    relevant = [over for over in overs if over.speaker in (FAR, TRAINEE)]
    for before, over in pairwise(relevant):
        both = before.speaker == over.speaker == TRAINEE
        calls = both and before.over.kind == over.over.kind == CALL
        if calls and over.start - before.end < least:
            return over.start
        if over.speaker == TRAINEE and over.over.kind.startswith(f"{CALL}+{CALL}"):
            return over.start
    return None


def _sent_while_they_sent(overs: Sequence[OnAir], call: str, listen_s: float) -> int | None:
    """Return the start of a trainee's over that the far station, itself sending, mostly missed."""
    for over in overs:
        if over.speaker != TRAINEE:
            continue
        lost = sum(
            max(0, min(over.end, other.end) - max(over.start, other.start))
            for other in overs
            if other.speaker == FAR
        )
        if lost > (over.end - over.start) / 2:
            return over.start
    return None


def _called_over_others(overs: Sequence[OnAir], call: str, listen_s: float) -> int | None:
    """Return the time when the trainee called although another station was being worked."""
    other = False
    for over in overs:
        if over.speaker == FAR:
            named = without_gaps(over.over.call)
            if over.over.kind in (State.GIVING.value, State.ASKING.value):
                other = bool(named) and not addresses(over.over.call, call)
            elif over.over.kind in (s.value for s in (State.CALLING, State.ENDING, State.DROPPING)):
                other = False
        elif over.speaker == TRAINEE and other and over.over.kind == CALL:
            return over.start
    return None


def _repeated_unasked(overs: Sequence[OnAir], call: str, listen_s: float) -> int | None:
    """Return the time when the exchange was repeated although nobody had asked for it."""
    sent = False
    for over in overs:
        if over.speaker == FAR:
            if over.over.kind in (State.GIVING.value, State.ASKING_EXCHANGE.value):
                sent = False
        elif over.speaker == TRAINEE and EXCHANGE in over.over.kind.split("+"):
            if sent or over.over.kind.split("+").count(EXCHANGE) > 1:
                return over.start
            sent = True
    return None


def _alternate_words(overs: Sequence[OnAir], call: str, listen_s: float) -> int | None:
    """Return the time when alternate words answered a request for the call."""
    asked = False
    for over in overs:
        if over.speaker == FAR:
            asked = asked or over.over.kind == State.ASKING.value
        elif over.speaker == TRAINEE and asked and ALTERNATES & set(over.over.said.split()):
            return over.start
    return None


MISTAKES: Mapping[str, Callable[[Sequence[OnAir], str, float], int | None]] = MappingProxyType(
    {
        "exchange-while-wrong": _exchange_while_wrong,
        "called-without-listening": _called_without_listening,
        "sent-while-they-sent": _sent_while_they_sent,
        "called-over-others": _called_over_others,
        "repeated-unasked": _repeated_unasked,
        "alternate-words": _alternate_words,
    }
)
"""The search for each kind of mistake, the most important first."""
