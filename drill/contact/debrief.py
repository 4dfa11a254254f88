"""The debrief of a finished contact: its figures, the time spent, and one piece of advice."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from drill.contact.acts import CALL, CORRECTION, EXCHANGE, PART, VOICE
from drill.contact.air import OnAir, samples
from drill.contact.callers import addresses
from drill.contact.comparison import BothLogs, compare_logs
from drill.contact.far_states import State
from drill.contact.live import LEFT, LOGGED, LiveContact
from drill.contact.overs import FAR, MISSED, TRAINEE, without_gaps
from drill.radio import AUDIO_RATE_HZ
from phonetics.alphabets import ALTERNATE_WORDS

WAITING, CALLING, MENDING, EXCHANGING = "waiting", "calling", "mending", "exchange"
ALTERNATES = frozenset(word.lower() for words in ALTERNATE_WORDS.values() for word in words)
PHASES = (WAITING, CALLING, MENDING, EXCHANGING)
ADVICE = (
    "exchange-while-wrong",
    "called-without-listening",
    "sent-while-they-sent",
    "called-over-others",
    "repeated-unasked",
    "alternate-words",
    "others-waiting",
)
"""The subjects of advice, most important first."""
ADVICE_PHASES = {
    "exchange-while-wrong": EXCHANGING,
    "called-without-listening": CALLING,
    "sent-while-they-sent": CALLING,
    "called-over-others": CALLING,
    "repeated-unasked": EXCHANGING,
    "alternate-words": MENDING,
    "others-waiting": WAITING,
}
"""The phase to whose time each piece of advice refers."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Advice:
    """A piece of advice; kind: one of ADVICE. at_s: time of the mistake."""

    kind: str
    at_s: float


@dataclass(frozen=True, kw_only=True, slots=True)
class ContactResult:
    """A finished contact.

    place: number of the station's place, the same for several powers. watts: of the trainee.
    far_db, near_db: SNR in 3 kHz at both ends before fading. far_watts, noise_above_db: power and
    noise of the far station. callers: other stations that called. ended: the way in which the
    contact ended for the trainee. overs: from the general call to the end, both sides; seconds:
    from the first reply to the end; both 0 without a reply. times_s: seconds spent in each of
    PHASES, in their order. was_mended: the trainee's call came back incomplete or wrong, or was
    asked for again; is_mended: it was right in the end.
    """

    place: int
    watts: float
    far_db: float
    near_db: float
    far_watts: float
    noise_above_db: float
    callers: int
    ended: str
    logs: BothLogs
    overs: int
    seconds: float
    times_s: tuple[float, ...]
    was_mended: bool
    is_mended: bool
    advice: Advice | None = None


def contact_result(contact: LiveContact, *, place: int) -> ContactResult:
    """Return the result of a contact that has ended."""
    frequency, station = contact.frequency, contact.frequency.station
    trace = [over for over in frequency.trace if over.start < contact.ended_at]
    own = frequency.trainee.speaker
    logs = compare_logs(
        own=own,
        far=station.speaker,
        entry=contact.entry if contact.ended == LOGGED else None,
        lines=frequency.far.operator.log,
    )
    mine = [over for over in trace if over.speaker == TRAINEE]
    replies = list(replies_to(trace, own.call))
    first = replies[0].start if replies else contact.ended_at
    mended = any(_needs_mending(reply, own.call) for reply in replies)
    return ContactResult(
        place=place,
        watts=frequency.trainee.watts,
        far_db=round(station.far_db(frequency.trainee.watts), 2),
        near_db=round(station.near_db, 2),
        far_watts=station.watts,
        noise_above_db=round(station.noise_above_db, 2),
        callers=len({over.speaker for over in trace} - {FAR, TRAINEE}),
        ended=contact.ended,
        logs=logs,
        overs=1 + len(mine) + len(replies) if replies else 0,
        seconds=round((contact.ended_at - first) / AUDIO_RATE_HZ, 2),
        times_s=times_by_phase(trace, own.call, contact.ended_at),
        was_mended=mended,
        is_mended=mended and logs.their_call_right,
        advice=_advice(contact, trace, logs),
    )


def replies_to(trace: Sequence[OnAir], call: str) -> Iterator[OnAir]:
    """Yield the far station's overs that are meant for a call, in order."""
    called = worked = False
    for over in trace:
        kind = over.over.kind
        if over.speaker == TRAINEE:
            called = True
        elif over.speaker != FAR:
            continue
        elif kind in (State.ASKING.value, State.GIVING.value):
            nobody_named = not without_gaps(over.over.call)
            worked = addresses(over.over.call, call) or (nobody_named and called)
            if worked and called:
                yield over
        elif kind == State.CALLING.value:
            called = worked = False
        elif worked and called:
            yield over
            if kind in (State.ENDING.value, State.DROPPING.value):
                worked = False


def times_by_phase(
    trace: Sequence[OnAir], call: str, end: int, *, begin: int = 0
) -> tuple[float, ...]:
    """Return the seconds in each of PHASES between two times in samples.

    trace: the overs that start between them.
    """
    replies = {id(over) for over in replies_to(trace, call)}
    spent = dict.fromkeys(PHASES, 0)
    phase, since, worked = WAITING, begin, False
    for over in trace:
        kind, following = over.over.kind, phase
        if id(over) in replies:
            worked = kind != State.DROPPING.value
            following = MENDING if _is_mending(over, call) else EXCHANGING
        elif over.speaker == FAR and kind != State.ENDING.value:
            worked, following = False, WAITING
        elif over.speaker == TRAINEE and not worked:
            following = CALLING
        elif over.speaker == TRAINEE and CORRECTION in kind.split("+"):
            following = MENDING
        spent[phase] += over.start - since
        phase, since = following, over.start
    spent[phase] += end - since
    return tuple(round(spent[name] / AUDIO_RATE_HZ, 2) for name in PHASES)


def _is_mending(over: OnAir, call: str) -> bool:
    asking = (State.ASKING.value, State.ASKING_EXCHANGE.value, State.REPEATING.value)
    return over.over.kind in asking or _needs_mending(over, call)


def _needs_mending(over: OnAir, call: str) -> bool:
    """Return whether an over of the far station asks for the call, or gives it wrongly."""
    if over.over.kind == State.ASKING.value:
        return True
    return bool(over.over.call) and without_gaps(over.over.call) != call


def _advice(contact: LiveContact, trace: Sequence[OnAir], logs: BothLogs) -> Advice | None:
    """Return the most important advice that the events justify, None if there is none."""
    checks: list[Callable[[LiveContact, Sequence[OnAir]], int | None]]
    checks = [
        _exchange_while_wrong,
        _called_without_listening,
        _sent_while_they_sent,
        _called_over_others,
        _repeated_unasked,
        _alternate_words,
        _others_waiting,
    ]
    for check in checks[1:-1] if logs.is_right else checks:
        at = check(contact, trace)
        if at is not None:
            kind = check.__name__.lstrip("_").replace("_", "-")
            return Advice(kind=kind, at_s=round(at / AUDIO_RATE_HZ, 1))
    return None


def _exchange_while_wrong(contact: LiveContact, trace: Sequence[OnAir]) -> int | None:
    """Return the time when the exchange was sent although the call had come back with an error."""
    call = contact.frequency.trainee.speaker.call
    wrong = False
    for over in trace:
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


def _called_without_listening(contact: LiveContact, trace: Sequence[OnAir]) -> int | None:
    """Return the time when the call was repeated before an answer could come."""
    least = samples(contact.frequency.values.debrief.listen_s)
    relevant = [over for over in trace if over.speaker in (FAR, TRAINEE)]
    for before, over in pairwise(relevant):
        both = before.speaker == over.speaker == TRAINEE
        calls = both and before.over.kind == over.over.kind == CALL
        if calls and over.start - before.end < least:
            return over.start
        if over.speaker == TRAINEE and over.over.kind.startswith(f"{CALL}+{CALL}"):
            return over.start
    return None


def _sent_while_they_sent(contact: LiveContact, trace: Sequence[OnAir]) -> int | None:
    """Return the start of an over of the trainee that was mostly lost under the far station's."""
    for over in trace:
        if over.speaker != TRAINEE:
            continue
        lost = sum(
            max(0, min(over.end, other.end) - max(over.start, other.start))
            for other in trace
            if other.speaker == FAR
        )
        if lost > (over.end - over.start) / 2:
            return over.start
    return None


def _called_over_others(contact: LiveContact, trace: Sequence[OnAir]) -> int | None:
    """Return the time when the trainee called although another station was being worked."""
    call = contact.frequency.trainee.speaker.call
    other = False
    for over in trace:
        if over.speaker == FAR:
            named = without_gaps(over.over.call)
            if over.over.kind in (State.GIVING.value, State.ASKING.value):
                other = bool(named) and not addresses(over.over.call, call)
            elif over.over.kind in (s.value for s in (State.CALLING, State.ENDING, State.DROPPING)):
                other = False
        elif over.speaker == TRAINEE and other and over.over.kind == CALL:
            return over.start
    return None


def _repeated_unasked(contact: LiveContact, trace: Sequence[OnAir]) -> int | None:
    """Return the time when the exchange was repeated although nobody had asked for it."""
    sent = False
    for over in trace:
        if over.speaker == FAR:
            if over.over.kind in (State.GIVING.value, State.ASKING_EXCHANGE.value):
                sent = False
        elif over.speaker == TRAINEE and EXCHANGE in over.over.kind.split("+"):
            if sent or over.over.kind.split("+").count(EXCHANGE) > 1:
                return over.start
            sent = True
    return None


def _alternate_words(contact: LiveContact, trace: Sequence[OnAir]) -> int | None:
    """Return the time when alternate words answered a request for the call."""
    asked = False
    for over in trace:
        if over.speaker == FAR:
            asked = asked or over.over.kind == State.ASKING.value
        elif over.speaker == TRAINEE and asked and ALTERNATES & set(over.over.said.split()):
            return over.start
    return None


def _others_waiting(contact: LiveContact, trace: Sequence[OnAir]) -> int | None:
    """Return the time of the first call, if several others called and it never got through."""
    others = {over.speaker for over in trace} - {FAR, TRAINEE}
    mine = [over for over in trace if over.speaker == TRAINEE]
    if contact.ended == LEFT and len(others) >= 2 and mine:
        return mine[0].start
    return None
