"""The stops of a hunt compared with the model's expectation, and the stations passed over."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from itertools import pairwise

from drill.contact.air import samples
from drill.contact.mistakes import find_mistakes
from drill.contact.model_ears import ModelEars
from drill.hunt.band import Holder
from drill.hunt.checking import CheckedContact
from drill.hunt.live import LiveHunt
from drill.hunt.results import ExpectedTime, JudgedStop, StationOption
from drill.hunt.stops import RestTime, Stop, rest_times, stop_at
from drill.radio import AUDIO_RATE_HZ

LOOK_S = 1.0
"""The trainee has noticed a station if the dial stood on it at least this long."""
AUDIBLE_DB = 0.0
"""Lowest SNR in 3 kHz at which a station counts as heard, before short fading."""
SIMULATED_STOPS = 30
"""Number of the longest stops with a call, for which the expected time is computed."""
UNANSWERED_STOPS = 10
"""Number of the longest stops without an answer, for which a better station is sought."""
SIMULATED_OPTIONS = 2
"""Number of the most promising other stations whose expected time is computed at such a stop."""
SIMULATED_PASSED = 8
"""Number of passed stations whose expected time is computed."""

Expect = Callable[[Holder, int], ExpectedTime | None]
"""Returns the expected time until a station answers, from an ear time in samples on; None if it is
not likely to answer."""


def nothing_expected(holder: Holder, at: int) -> None:
    """Return None: stands in for Expect in tests and with the accelerated clock."""


def chance_alone(live: LiveHunt, holder: Holder, at: int) -> float:
    """Return the probability that a station copies the whole call if nobody else calls.

    at: ear time in samples. Short fading is left out.
    """
    ears = ModelEars(
        live.setup.values.contact.ears,
        holder.station.ear_offset_db,
        lambda speaker, number: holder.station.stream(f"ears {speaker} {number}"),
    )
    level_db = holder.far_db(live.setup.watts, at / AUDIO_RATE_HZ)
    probability: float = ears.word_probability(level_db) ** len(live.setup.own_call)
    return probability


def judged_stops(
    live: LiveHunt, contacts: Sequence[CheckedContact], expect: Expect
) -> tuple[JudgedStop, ...]:
    """Return the stops of a hunt that has ended, in order."""
    rests = rest_times(live.dial_moves, live.holder_at, live.sending, end=live.now)
    for rest in rests:  # a station may be simulated only up to an earlier time
        live.channels[rest.holder].catch_up(rest.end)
    own_call = live.setup.own_call
    stops = [stop_at(rest, live.channels[rest.holder].trace, own_call) for rest in rests]
    made = _contacts_of(rests, contacts)
    called = [i for i, s in enumerate(stops) if s.called_after_s is not None or s.too_long_s]
    called.sort(key=lambda index: -stops[index].seconds)
    unanswered = [index for index in called if not stops[index].replied][:UNANSWERED_STOPS]
    simulated = {*called[:SIMULATED_STOPS], *unanswered}
    judged: list[JudgedStop] = []
    worked: set[int] = set()
    for index, (rest, stop) in enumerate(zip(rests, stops, strict=True)):
        entry = _judged(live, rest, stop, made.get(rest))
        if index in simulated:
            entry = _with_expected_time(live, entry, rest, expect)
        if index in unanswered:
            better = _best_option(live, rest, worked | {rest.holder}, entry.expected_s, expect)
            entry = replace(entry, better=better)
        if entry.contact is not None and contacts[entry.contact].is_right:
            worked.add(rest.holder)
        judged.append(entry)
    return tuple(judged)


def _contacts_of(
    rests: Sequence[RestTime], contacts: Sequence[CheckedContact]
) -> dict[RestTime, int]:
    """Return the index of the contact that was made at each stop with one."""
    made: dict[RestTime, int] = {}
    for index, contact in enumerate(contacts):
        at = samples(contact.at_s)
        stops = [r for r in rests if r.holder == contact.holder and r.start <= at]
        if stops:
            made.setdefault(stops[-1], index)
    return made


def _judged(live: LiveHunt, rest: RestTime, stop: Stop, contact: int | None) -> JudgedStop:
    """Return a stop without the model's expectation."""
    channel = live.channels[rest.holder]
    overs = [over for over in channel.trace if rest.start <= over.start < rest.end]
    listen_s = live.setup.values.contact.debrief.listen_s
    return JudgedStop(
        stop=stop,
        call=channel.holder.call,
        contact=contact,
        mistakes=tuple(find_mistakes(overs, live.setup.own_call, listen_s=listen_s)),
        chance_alone=round(chance_alone(live, channel.holder, rest.start), 3),
        callers_per_hour=round(channel.holder.callers_per_hour, 1),
        noise_above_db=round(channel.holder.station.noise_above_db, 1),
    )


def _with_expected_time(
    live: LiveHunt, entry: JudgedStop, rest: RestTime, expect: Expect
) -> JudgedStop:
    expected = expect(live.channels[rest.holder].holder, rest.start)
    if expected is None:
        return replace(entry, simulated=True)
    return replace(
        entry,
        simulated=True,
        expected_s=expected.mean_s,
        low_s=expected.low_s,
        high_s=expected.high_s,
    )


def _best_option(
    live: LiveHunt, rest: RestTime, without: set[int], limit_s: float | None, expect: Expect
) -> StationOption | None:
    """Return the station that would answer soonest, if it is sooner than `limit_s`."""
    audible = [
        channel.holder
        for number, channel in live.channels.items()
        if number not in without
        and channel.is_on_at(rest.start)
        and channel.holder.near_db(rest.start / AUDIO_RATE_HZ) >= AUDIBLE_DB
    ]
    options = _options(live, audible, rest.start, expect, most=SIMULATED_OPTIONS)
    return next((o for o in options if limit_s is None or o.expected_s < limit_s), None)


def _options(
    live: LiveHunt, holders: Iterable[Holder], at: int, expect: Expect, *, most: int
) -> list[StationOption]:
    """Return the most promising stations with their expected times, the shortest first."""
    ranked = sorted(holders, key=lambda holder: _promise(live, holder, at), reverse=True)
    options = [
        StationOption(call=holder.call, hz=holder.carrier_hz, expected_s=expected.mean_s)
        for holder in ranked[:most]
        if (expected := expect(holder, at)) is not None
    ]
    return sorted(options, key=lambda option: option.expected_s)


def _promise(live: LiveHunt, holder: Holder, at: int) -> float:
    """Return a quick measure of how soon a station may answer: larger is sooner."""
    return chance_alone(live, holder, at) / (1 + holder.callers_per_hour / 60)


def passed_stations(live: LiveHunt, expect: Expect) -> tuple[StationOption, ...]:
    """Return stations that the trainee heard but never called, the soonest to answer first."""
    moves = [*live.dial_moves, (live.now, live.dial_hz)]
    heard: dict[int, int] = {}
    for (at, hz), (until, _) in pairwise(moves):
        number = live.holder_at(hz, at) if until - at >= samples(LOOK_S) else None
        if number is None or number in heard or live.channels[number].was_called:
            continue
        if live.channels[number].holder.near_db(at / AUDIO_RATE_HZ) >= AUDIBLE_DB:
            heard[number] = at
    ranked = sorted(
        ((live.channels[number].holder, at) for number, at in heard.items()),
        key=lambda entry: -_promise(live, *entry),
    )
    options = [
        option
        for holder, at in ranked[:SIMULATED_PASSED]
        for option in _options(live, [holder], at, expect, most=1)
    ]
    return tuple(sorted(options, key=lambda option: option.expected_s))
