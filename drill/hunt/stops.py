"""The stations at which a hunt stopped, and where its time went.

A stop is a time during which the dial rested at one station. Everything else is tuning. Times are
in samples from the start of the hunt.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from drill.contact.air import OnAir, samples
from drill.contact.debrief import PHASES, replies_to, times_by_phase
from drill.contact.overs import FAR, TRAINEE
from drill.radio import AUDIO_RATE_HZ

TUNING = "tuning"
HUNT_PHASES = (TUNING, *PHASES)
"""Kinds of time in a hunt: tuning, then the phases of a contact."""
REST_S = 4.0
"""The dial rests at a station if it stays there at least this long, or if the trainee calls
there."""
MAX_CALLS = 3
"""Unanswered calls after which a hunter moves on; common practice, no source."""
LONGEST_WAIT_S = 90.0
"""Time at a station without an answer after which a hunter moves on; common practice, no source."""

HolderAt = Callable[[float, int], int | None]
"""Returns the number of the station at a dial frequency in Hz and a time, None without one."""


@dataclass(frozen=True, kw_only=True, slots=True)
class RestTime:
    """A time, from start to end in samples, during which the dial rested at the station `holder`.

    hz: the dial at its end.
    """

    holder: int
    start: int
    end: int
    hz: float


@dataclass(frozen=True, kw_only=True, slots=True)
class Stop:
    """The events of a stop.

    holder: number of the station. at_s, seconds: start and length. hz: of the dial. times_s:
    seconds in each of PHASES. calls: number of the trainee's overs before the first reply, all
    overs without a reply.
    overs: overs of both sides from the first reply. replied: the station answered the trainee.
    knew_call: the station had said its call before the trainee's first over; None if the trainee
    did not call. callers: other stations that called during the stop. called_after_s: time until
    the first call, None without one. too_long_s: seconds without an answer after MAX_CALLS
    calls or LONGEST_WAIT_S, whichever is sooner; 0 with a reply.
    """

    holder: int
    at_s: float
    seconds: float
    hz: float
    times_s: tuple[float, ...]
    calls: int
    overs: int
    replied: bool
    knew_call: bool | None
    callers: int
    called_after_s: float | None
    too_long_s: float


def rest_times(
    dial: Sequence[tuple[int, float]],
    holder_at: HolderAt,
    sending: Sequence[tuple[int, int]],
    *,
    end: int,
) -> tuple[RestTime, ...]:
    """Return the times during which the dial rested at a station, in order.

    dial: time and frequency in Hz of every move of the dial, the first at the start. sending: start
    and end of the trainee's overs. end: of the hunt.
    """
    rests: list[RestTime] = []
    for index, (start, hz) in enumerate(dial):
        until = dial[index + 1][0] if index + 1 < len(dial) else end
        until = min(until, end)
        holder = holder_at(hz, start) if until > start else None
        if holder is None:
            continue
        last = rests[-1] if rests else None
        if last is not None and (last.holder, last.end) == (holder, start):
            rests[-1] = replace(last, end=until, hz=hz)
        else:
            rests.append(RestTime(holder=holder, start=start, end=until, hz=hz))
    return tuple(rest for rest in rests if _is_long(rest) or _has_sent(rest, sending))


def _is_long(rest: RestTime) -> bool:
    return rest.end - rest.start >= samples(REST_S)


def _has_sent(rest: RestTime, sending: Sequence[tuple[int, int]]) -> bool:
    return any(rest.start <= start < rest.end for start, _ in sending)


def stop_at(rest: RestTime, trace: Sequence[OnAir], own_call: str) -> Stop:
    """Return the stop at which the dial rested at a station. trace: of its frequency."""
    overs = [over for over in trace if rest.start <= over.start < rest.end]
    mine = [over for over in overs if over.speaker == TRAINEE]
    replies = list(replies_to(overs, own_call))
    first = replies[0].start if replies else rest.end
    called = mine[0].start if mine else None
    return Stop(
        holder=rest.holder,
        at_s=_seconds(rest.start),
        seconds=_seconds(rest.end - rest.start),
        hz=rest.hz,
        times_s=times_by_phase(overs, own_call, rest.end, begin=rest.start),
        calls=sum(over.start < first for over in mine),
        overs=len(replies) + sum(over.start >= first for over in mine),
        replied=bool(replies),
        knew_call=None if called is None else _has_identified(trace, rest.start, called),
        callers=len({over.speaker for over in overs} - {FAR, TRAINEE}),
        called_after_s=None if called is None else _seconds(called - rest.start),
        too_long_s=0.0 if replies else _too_long_s(rest, mine),
    )


def _too_long_s(rest: RestTime, mine: Sequence[OnAir]) -> float:
    """Return the seconds without an answer after a hunter would have moved on."""
    limit = rest.start + samples(LONGEST_WAIT_S)
    if len(mine) > MAX_CALLS:
        limit = min(limit, mine[MAX_CALLS].start)
    return max(0.0, _seconds(rest.end - limit))


def _has_identified(trace: Sequence[OnAir], start: int, until: int) -> bool:
    """Return whether the station said its call between two times, so that the trainee heard it."""
    for over in trace:
        if over.speaker != FAR:
            continue
        words = zip(over.over.words, over.times, strict=False)
        said = [times for word, times in words if word.field == "call"]
        if said and said[0][0] >= start and said[-1][1] <= until:
            return True
    return False


def times_of_hunt(stops: Sequence[Stop], *, seconds: float) -> tuple[float, ...]:
    """Return the seconds of a hunt in each of HUNT_PHASES. seconds: length of the hunt."""
    phases = [sum(stop.times_s[index] for stop in stops) for index in range(len(PHASES))]
    tuning = max(0.0, seconds - sum(phases))
    return tuple(round(time_s, 1) for time_s in (tuning, *phases))


def _seconds(time: int) -> float:
    return round(time / AUDIO_RATE_HZ, 2)
