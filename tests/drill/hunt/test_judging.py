"""Stops compared with the model: only expectations that the model computed are used."""

from functools import cache

import pytest

from drill.contact.acts import CALL
from drill.contact.air import samples
from drill.hunt.acts import END, TUNE, HuntAct
from drill.hunt.band import Holder
from drill.hunt.contacts import checked_contacts
from drill.hunt.judging import (
    AUDIBLE_DB,
    chance_alone,
    judged_stops,
    nothing_expected,
    passed_stations,
)
from drill.hunt.live import LiveHunt
from drill.hunt.results import ExpectedTime
from tests.drill.hunt.simple_hunter import SimpleHunter, make_setup


def by_number(holder: Holder, at: int) -> ExpectedTime | None:
    """Expect a time that depends only on the station's number; odd ones never answer."""
    if holder.number % 2:
        return None
    return ExpectedTime(mean_s=10.0 + holder.number, low_s=1.0, high_s=99.0, n=10)


@cache
def hunted() -> LiveHunt:
    """Return a hunt: one contact, one station called in vain, three stations passed by."""
    live = LiveHunt(make_setup())
    hunter = SimpleHunter(live, live.act, live.advance)
    stations = hunter.strongest()
    assert hunter.work(stations[0])
    deaf = min(
        (live.channels[number].holder for number in stations), key=lambda h: h.far_db(100.0, 0)
    )
    live.act(HuntAct(at=live.now, kind=TUNE, hz=deaf.carrier_hz))
    for _ in range(5):
        live.advance(live.now + samples(12))
        live.act(HuntAct(at=live.now, kind=CALL))
    live.advance(live.now + samples(10))
    for number in stations[1:4]:
        live.act(HuntAct(at=live.now, kind=TUNE, hz=live.channels[number].holder.carrier_hz))
        live.advance(live.now + samples(2))
    live.act(HuntAct(at=live.now, kind=END))
    return live


def test_stops_have_their_contacts() -> None:
    live = hunted()
    stops = judged_stops(live, checked_contacts(live), by_number)
    made, vain = [entry for entry in stops if entry.stop.called_after_s is not None]
    assert made.contact == 0
    assert made.call == checked_contacts(live)[0].logs.given_call
    assert made.better is None  # no better station is sought for one that answered
    assert vain.contact is None
    assert not vain.stop.replied
    assert vain.stop.calls == 5
    assert vain.stop.too_long_s == pytest.approx(22.0, abs=1.0)


def test_a_better_station_is_audible_unworked_and_sooner() -> None:
    live = hunted()
    vain = judged_stops(live, checked_contacts(live), by_number)[1]
    assert vain.better is not None
    holder = next(
        channel.holder for channel in live.channels.values()
        if channel.holder.call == vain.better.call
    )  # fmt: skip
    assert holder.near_db(vain.stop.at_s) >= AUDIBLE_DB
    assert not live.channels[holder.number].was_called
    assert vain.better.expected_s == 10.0 + holder.number
    assert vain.expected_s is None or vain.better.expected_s < vain.expected_s
    for entry in judged_stops(live, checked_contacts(live), nothing_expected):
        assert entry.expected_s is None
        assert entry.better is None


def test_passed_stations_were_heard_and_never_called() -> None:
    live = hunted()
    passed = passed_stations(live, by_number)
    assert passed == tuple(sorted(passed, key=lambda option: option.expected_s))
    calls = {c.holder.call: c for c in live.channels.values()}
    assert all(not calls[option.call].was_called for option in passed)
    assert {calls[option.call].holder.number % 2 for option in passed} <= {0}
    assert passed_stations(live, nothing_expected) == ()


def test_the_chance_of_being_copied_rises_with_power() -> None:
    strong, weak = (LiveHunt(make_setup(watts=watts)) for watts in (100.0, 5.0))
    for number, channel in strong.channels.items():
        more = chance_alone(strong, channel.holder, 0)
        less = chance_alone(weak, weak.channels[number].holder, 0)
        assert 0 <= less <= more <= 1
