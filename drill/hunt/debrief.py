"""The debrief of a hunt that has ended: contacts, points, time, choices and advice."""

from itertools import pairwise

from drill.contact.air import samples
from drill.hunt.advice import HuntFacts, best_advice
from drill.hunt.checking import contacts_by_quarter_hour
from drill.hunt.contacts import checked_contacts
from drill.hunt.judging import Expect, judged_stops, passed_stations
from drill.hunt.live import LiveHunt
from drill.hunt.points import count_points, load_rules
from drill.hunt.results import DialRest, HuntResult, QuarterHour
from drill.hunt.stops import times_of_hunt
from drill.radio import AUDIO_RATE_HZ

DIAL_REST_S = 1.0
"""Positions of the dial that last less than this are left out of the result."""


def hunt_result(live: LiveHunt, expect: Expect) -> HuntResult:
    """Return the result of a hunt that has ended. expect: expected time until a station answers."""
    setup, seconds = live.setup, live.now / AUDIO_RATE_HZ
    contacts = checked_contacts(live)
    passed = passed_stations(live, expect)
    stops = judged_stops(live, contacts, expect)
    times_s = times_of_hunt([entry.stop for entry in stops], seconds=seconds)
    advice = best_advice(
        HuntFacts(
            seconds=seconds, tuning_s=times_s[0], contacts=contacts, stops=stops, passed=passed
        )
    )
    return HuntResult(
        bands=tuple(kind.name for kind in setup.bands),
        exchange=setup.plan.exchange,
        seed=setup.plan.seed,
        watts=setup.watts,
        seconds=round(seconds, 1),
        contacts=contacts,
        points=count_points(contacts, own_call=setup.own_call, rules=load_rules()),
        quarters=tuple(
            QuarterHour(right=right, logged=logged)
            for right, logged in contacts_by_quarter_hour(contacts, minutes=seconds / 60)
        ),
        times_s=times_s,
        stops=stops,
        passed=passed,
        dial=_dial_rests(live),
        advice=advice,
    )


def _dial_rests(live: LiveHunt) -> tuple[DialRest, ...]:
    """Return the positions of the dial that lasted a while, and the last one."""
    moves = [*live.dial_moves, (live.now + samples(DIAL_REST_S), live.dial_hz)]
    return tuple(
        DialRest(at_s=round(at / AUDIO_RATE_HZ, 1), hz=hz)
        for (at, hz), (until, _) in pairwise(moves)
        if until - at >= samples(DIAL_REST_S)
    )
