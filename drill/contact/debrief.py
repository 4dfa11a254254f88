"""The debrief of a finished contact: its figures, the time spent, and one piece of advice."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from drill.contact.acts import CORRECTION
from drill.contact.air import OnAir
from drill.contact.callers import addresses
from drill.contact.comparison import BothLogs, compare_logs, has_sent_exchange
from drill.contact.far_states import State
from drill.contact.live import LEFT, LOGGED, LiveContact
from drill.contact.mistakes import MISTAKES, find_mistakes
from drill.contact.overs import FAR, TRAINEE, without_gaps
from drill.radio import AUDIO_RATE_HZ

WAITING, CALLING, MENDING, EXCHANGING = "waiting", "calling", "mending", "exchange"
PHASES = (WAITING, CALLING, MENDING, EXCHANGING)
OTHERS_WAITING = "others-waiting"
ADVICE = (*MISTAKES, OTHERS_WAITING)
"""The subjects of advice, most important first."""
ADVICE_PHASES = {
    "exchange-while-wrong": EXCHANGING,
    "called-without-listening": CALLING,
    "sent-while-they-sent": CALLING,
    "called-over-others": CALLING,
    "repeated-unasked": EXCHANGING,
    "alternate-words": MENDING,
    OTHERS_WAITING: WAITING,
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
    mine = [over for over in trace if over.speaker == TRAINEE]
    logs = compare_logs(
        own=own,
        far=station.speaker,
        entry=contact.entry if contact.ended == LOGGED else None,
        lines=frequency.far.operator.log,
        own_exchange_sent=has_sent_exchange(own, (over.over for over in mine)),
    )
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
    """Return the most important piece of advice that the events justify, None if there is none."""
    mistakes = find_mistakes(
        trace,
        contact.frequency.trainee.speaker.call,
        listen_s=contact.frequency.values.debrief.listen_s,
    )
    if logs.is_right:
        mistakes.pop(ADVICE[0], None)
    elif not mistakes and contact.ended == LEFT:
        mine = [over for over in trace if over.speaker == TRAINEE]
        if mine and len({over.speaker for over in trace} - {FAR, TRAINEE}) >= 2:
            mistakes[OTHERS_WAITING] = mine[0].start
    return next(
        (Advice(kind=kind, at_s=round(at / AUDIO_RATE_HZ, 1)) for kind, at in mistakes.items()),
        None,
    )
