"""A hunt that is driven by acts: the dial, the trainee's overs, the pad and the end."""

from dataclasses import replace

import pytest

from drill.contact.acts import BREAK_OFF, CALL, EXCHANGE, LEAVE, LOG, NOTE
from drill.contact.air import samples
from drill.contact.events import SendingEnds, SendingStarts
from drill.contact.overs import FAR, TRAINEE
from drill.hunt.acts import END, MARK, MEND, TUNE, HuntAct
from drill.hunt.band import Holder
from drill.hunt.clock import AHEAD
from drill.hunt.events import Ended, HuntEvent, Marked, PadChanged, Tuned
from drill.hunt.live import ENDED_BY_TRAINEE, STORY_REACH_HZ, TIME_OVER, LiveHunt
from drill.hunt.values import find_band_kind
from tests.drill.hunt.simple_hunter import make_setup


def do(live: LiveHunt, kind: str, text: str = "", *, after_s: float = 0.0) -> list[HuntEvent]:
    return live.act(HuntAct(at=live.now + samples(after_s), kind=kind, text=text))


def tune(live: LiveHunt, hz: float) -> list[HuntEvent]:
    return live.act(HuntAct(at=live.now, kind=TUNE, hz=hz))


def strongest(live: LiveHunt) -> Holder:
    present = [h for h in live.bands[0].holders if h.starts_s < 0 and h.stops_s > 300]
    return max(present, key=lambda holder: holder.near_db(0.0))


def trainee_overs(live: LiveHunt, holder: Holder) -> list[tuple[int, int, float | None]]:
    trace = live.channels[holder.number].trace
    return [(o.start, o.end, o.participant.far_db) for o in trace if o.speaker == TRAINEE]


def test_an_over_begins_ahead_of_the_ear_and_reaches_the_station() -> None:
    live = LiveHunt(make_setup())
    holder = strongest(live)
    assert tune(live, holder.carrier_hz) == [Tuned(at=0, hz=holder.carrier_hz)]
    (starts,) = do(live, CALL, after_s=5.0)
    assert isinstance(starts, SendingStarts)
    assert starts.at == samples(5.0) + AHEAD
    assert live.sending == [(starts.at, starts.until)]
    assert [over[:2] for over in trainee_overs(live, holder)] == live.sending
    assert not live.is_sending()
    assert live.is_sending(starts.at)
    assert not live.is_sending(starts.until)
    assert live.advance(starts.until) == [SendingEnds(at=starts.until)]
    assert live.partner == holder.number


def test_a_second_key_makes_the_over_longer_and_a_break_ends_it() -> None:
    live = LiveHunt(make_setup())
    tune(live, strongest(live).carrier_hz)
    (first,) = do(live, CALL)
    (both,) = do(live, EXCHANGE, after_s=0.5)
    assert isinstance(first, SendingStarts)
    assert isinstance(both, SendingStarts)
    assert both.at == first.at
    assert both.until > first.until
    (broken,) = do(live, BREAK_OFF, after_s=1.0)
    assert isinstance(broken, SendingStarts)
    assert broken.until == samples(1.5) + AHEAD
    assert [over[:2] for over in trainee_overs(live, strongest(live))] == live.sending
    live.advance(broken.until + samples(1.0))
    assert do(live, BREAK_OFF) == []


def test_mistuning_weakens_the_over_until_nobody_hears_it() -> None:
    levels = []
    for off_hz in (0.0, 40.0, 250.0, 600.0):
        live = LiveHunt(make_setup())
        tune(live, strongest(live).carrier_hz + off_hz)
        do(live, CALL)
        overs = trainee_overs(live, strongest(live))
        levels.append(overs[0][2] if overs else None)
    level = levels[0]
    assert level is not None
    assert levels == [level, level, pytest.approx(level - 8.0), None]


def test_an_over_is_sent_even_if_nobody_hears_it() -> None:
    live = LiveHunt(make_setup())
    tune(live, live.bands[0].lower_hz - 10_000.0)
    assert live.station_at_dial() is None
    do(live, CALL)
    assert len(live.sending) == 1
    assert live.partner is None


def test_an_over_stays_on_the_frequency_where_it_began() -> None:
    live = LiveHunt(make_setup())
    holder = strongest(live)
    tune(live, holder.carrier_hz)
    do(live, CALL)
    (before,) = trainee_overs(live, holder)
    tune(live, holder.carrier_hz + 5000.0)
    do(live, EXCHANGE, after_s=0.5)
    (after,) = trainee_overs(live, holder)
    assert after[1] > before[1]
    assert after[2] == pytest.approx(before[2], abs=0.1)


def test_only_stations_in_reach_are_simulated_for_the_ear() -> None:
    live = LiveHunt(replace(make_setup(), bands=(find_band_kind("jammed"),)))
    live.advance(samples(10.0))
    near = live.channels_in_reach(live.now, live.now + samples(1.0))
    offsets = [abs(c.holder.carrier_hz - live.dial_hz) for c in near]
    assert near
    assert max(offsets) <= STORY_REACH_HZ
    assert {c.frequency.now for c in near} == {live.story_now}
    before = live.dial_hz
    tune(live, before + 20_000.0)
    both = live.channels_in_reach(live.now - 1, live.now + 1)
    assert len(both) > len(near)


def test_the_pad_gets_lines_with_rising_numbers() -> None:
    live = LiveHunt(make_setup())
    holder = strongest(live)
    tune(live, holder.carrier_hz)
    do(live, CALL, after_s=1.0)
    assert do(live, LOG) == []
    do(live, EXCHANGE, after_s=1.0)
    do(live, NOTE, f"{holder.call} 59 1")
    (change,) = do(live, LOG)
    assert isinstance(change, PadChanged)
    assert change.line is not None
    assert (change.line.given, change.line.holder) == ("59 001", holder.number)
    assert live.own_speaker().fields[-1].text == "002"
    assert live.pad.has(holder.call) is change.line
    (change,) = do(live, MEND, "59 2")
    assert isinstance(change, PadChanged)
    assert live.pad.lines[0].got == "59 2"
    do(live, NOTE, "E87")
    do(live, LEAVE)
    assert do(live, LOG) == []


def test_the_pad_says_nothing_of_an_exchange_that_was_not_sent() -> None:
    live = LiveHunt(make_setup())
    do(live, CALL, after_s=1.0)
    do(live, NOTE, "E87XY 59 1", after_s=10.0)
    (change,) = do(live, LOG)
    assert isinstance(change, PadChanged)
    assert change.line is not None
    assert change.line.given == ""


def test_a_mark_keeps_the_frequency() -> None:
    live = LiveHunt(make_setup())
    assert do(live, MARK, "loud") == [Marked(at=0, hz=live.dial_hz, text="loud")]
    assert live.marks == [(live.dial_hz, "loud")]


def test_the_hunt_ends_with_its_time_or_by_the_trainee() -> None:
    live = LiveHunt(make_setup(minutes=1.0))
    assert live.advance(samples(90.0)) == [Ended(at=samples(60.0), how=TIME_OVER)]
    assert live.now == samples(60.0)
    assert do(live, CALL) == []
    assert live.advance(samples(99.0)) == []
    live = LiveHunt(make_setup(minutes=1.0))
    (ended,) = do(live, END, after_s=3.0)
    assert ended == Ended(at=samples(3.0), how=ENDED_BY_TRAINEE)


def test_an_act_in_the_past_is_refused() -> None:
    live = LiveHunt(make_setup())
    live.advance(samples(5.0))
    with pytest.raises(ValueError, match="the act at sample 0 is in the past"):
        live.act(HuntAct(at=0, kind=LOG))


def test_the_steps_of_the_clock_change_nothing() -> None:
    stories = []
    for step_s in (0.25, 7.0):
        live = LiveHunt(make_setup())
        tune(live, strongest(live).carrier_hz)
        while live.now < samples(28.0):
            live.advance(live.now + samples(step_s))
            live.channels_in_reach(live.now, live.now)
        do(live, CALL)
        live.advance(samples(70.0))
        channel = live.station_at_dial()
        assert channel is not None
        stories.append([(o.speaker, o.start, o.end) for o in channel.trace if o.end < live.now])
    assert stories[0] == stories[1]
    assert any(speaker == FAR for speaker, *_ in stories[0])


def test_two_bands_lie_on_one_dial() -> None:
    kinds = (find_band_kind("open"), find_band_kind("closing"))
    live = LiveHunt(replace(make_setup(), bands=kinds))
    first, second = live.bands
    assert first.upper_hz < second.lower_hz
    numbers = [holder.number for band in live.bands for holder in band.holders]
    assert sorted(set(numbers)) == sorted(numbers) == sorted(live.channels)
    holder = next(h for h in second.holders if h.starts_s < 0)
    tune(live, holder.carrier_hz)
    channel = live.station_at_dial()
    assert channel is not None
    assert channel.holder.band == 1
