"""Overs as signals: each over once, only where it is audible, and none of the trainee's."""

from drill.contact.acts import CALL
from drill.contact.overs import TRAINEE
from drill.core.conditions import Fading
from drill.hunt.acts import HuntAct
from drill.hunt.live import LiveHunt
from drill.hunt.signals import SignalCollector
from drill.hunt.sound import BLOCK
from drill.items.prefetch_worker import SpeechRequest
from tests.drill.hunt.sounding import NoiseSpeech, ten_minutes


def test_every_over_in_reach_is_collected_once_before_it_begins() -> None:
    asked: list[SpeechRequest] = []
    live = LiveHunt(ten_minutes(), speech=NoiseSpeech())
    collector = SignalCollector(Fading(), asked.extend)
    collected = []
    for now in range(0, 40 * 16_000, 16 * BLOCK):
        if now == 64 * BLOCK:
            live.act(HuntAct(at=now, kind=CALL))
        live.advance(now)
        near = live.channels_in_reach(max(0, now - BLOCK), now)
        new = collector.collect(near, since=now)
        collected += new
        if now:  # overs are already in progress at the start
            assert all(signal.start + len(signal.signal) > now for signal in new)
        assert collector.collect(near, since=now) == []
    expected = {
        (f"{channel.holder.number} {over.speaker}", over.end)
        for channel in near
        for over in channel.trace
        if over.speaker != TRAINEE and over.end > 0 and channel.speech(over) is not None
    }
    names = {signal.transmitter for signal in collected}
    assert names >= {name for name, _ in expected}
    assert not any(TRAINEE in name for name in names)
    assert len(collected) >= len(expected)
    assert len(asked) >= len(collected)
    places = {(signal.transmitter, signal.start) for signal in collected}
    assert len(places) == len(collected)


def test_signals_lie_on_the_carrier_of_their_station() -> None:
    live = LiveHunt(ten_minutes(), speech=NoiseSpeech())
    live.advance(16_000)
    near = live.channels_in_reach(0, 16_000)
    for signal in SignalCollector(Fading()).collect(near, since=16_000):
        number = int(signal.transmitter.split()[0])
        carrier_hz = live.channels[number].holder.carrier_hz
        assert abs(signal.carrier_hz - carrier_hz) < 500
        assert abs(signal.carrier_hz - live.dial_hz) < 8000
