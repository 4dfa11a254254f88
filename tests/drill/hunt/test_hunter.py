"""The scripted hunter on the accelerated clock."""

from dataclasses import replace
from functools import cache
from itertools import pairwise

import pytest

from drill.contact.air import samples
from drill.hunt.acts import TUNE
from drill.hunt.checking import RIGHT
from drill.hunt.contacts import checked_contacts
from drill.hunt.hunter import POLICIES, run_hunter
from drill.hunt.live import TIME_OVER, LiveHunt
from tests.drill.hunt.simple_hunter import make_setup


@cache
def worked(policy: str, watts: float = 100.0) -> LiveHunt:
    return run_hunter(make_setup(minutes=12.0, watts=watts), policy)


@pytest.mark.parametrize("policy", POLICIES)
def test_the_hunter_works_stations_until_the_time_is_over(policy: str) -> None:
    live = worked(policy)
    assert live.ended == TIME_OVER
    assert live.now == samples(12 * 60.0)
    contacts = checked_contacts(live)
    right = [contact for contact in contacts if contact.verdict == RIGHT]
    # Common practice, no source: a hunter with 100 W makes 20 to 60 contacts an hour.
    assert 3 <= len(right) <= 14
    assert len(right) >= 0.7 * len(contacts)


def test_the_hunter_works_no_station_twice() -> None:
    calls = [line.call for line in worked("first").pad.lines]
    assert len(set(calls)) == len(calls)


def test_equal_set_ups_give_equal_hunts() -> None:
    setup = make_setup(minutes=3.0)
    assert run_hunter(setup).acts == run_hunter(setup).acts


def test_replaying_the_hunters_acts_gives_the_same_hunt() -> None:
    first, again = worked("strongest"), LiveHunt(make_setup(minutes=12.0))
    for act in first.acts:
        again.act(act)
    again.advance(first.now)
    assert again.pad.lines == first.pad.lines
    assert again.sending == first.sending
    assert checked_contacts(again) == checked_contacts(first)


def test_the_strongest_are_tuned_first_after_a_sweep() -> None:
    live = worked("strongest")
    moves = [act for act in live.acts if act.kind == TUNE]
    present = [h for h in live.bands[0].holders if h.starts_s < 0 and h.stops_s > 60]
    chosen = moves[len(present)]
    strongest = max(present, key=lambda h: h.near_db(30.0) - h.splatter_db)
    assert chosen.hz == pytest.approx(strongest.carrier_hz, abs=100)


def test_the_policy_first_goes_up_the_band() -> None:
    hertz = [act.hz for act in worked("first").acts if act.kind == TUNE]
    rising = sum(b > a for a, b in pairwise(hertz) if a and b)
    assert rising >= len(hertz) - 1 - len(hertz) // 10


def test_almost_no_power_makes_fewer_contacts_on_the_same_band() -> None:
    assert len(worked("strongest", 0.2).pad.lines) < len(worked("strongest").pad.lines)


def test_no_station_is_worked_on_an_empty_band() -> None:
    setup = make_setup(minutes=1.0)
    empty = replace(setup.bands[0], stations=1, median_db=-60.0)
    live = run_hunter(replace(setup, bands=(empty,)))
    assert not live.pad.lines
    assert live.ended == TIME_OVER
