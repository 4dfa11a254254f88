"""Replays the overs of a contact of a finished hunt, with noise and clean.

No sound is stored. The record is replayed up to the over, and the receiver is run from there.
"""

from collections import deque
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from drill.contact.air import OnAir, samples
from drill.contact.overs import FAR, TRAINEE
from drill.contact.review import heard_text
from drill.core.models import Clip, Samples
from drill.hunt.acts import TUNE, HuntAct
from drill.hunt.band import Holder, compose_band
from drill.hunt.held_frequency import HeldFrequency
from drill.hunt.live import STORY_REACH_HZ, LiveHunt
from drill.hunt.results import HuntResult
from drill.hunt.sessions import HUNT_ACT, build_hunt, recorded_act
from drill.hunt.setup import HuntSetup
from drill.hunt.signals import SignalCollector
from drill.hunt.sound import BLOCK, HuntSound
from drill.hunt.speech import SpeechSource, speech_of
from drill.radio import AUDIO_RATE_HZ
from drill.records.hunts import StoredHuntEvent

SETTLE_S = 2.0
"""Time for which the receiver runs before an over, so that its filters and gain settle; and for
which a station runs after a contact, so that it has heard the last over."""
MARGIN_S = 0.3
"""Time that is played before and after an over."""
RECENT_SPANS = 4


@dataclass(frozen=True, kw_only=True, slots=True)
class HuntOver:
    """An over of a contact.

    start, end: in samples. who: "they", "you" or "other". text: its words. heard: what the station
    made out of an over of the trainee, "" for nothing; None for the overs of others.
    """

    start: int
    end: int
    who: str
    text: str
    heard: str | None


def contact_stop(result: HuntResult, contact: int) -> tuple[int, int, int] | None:
    """Return station, start and end in samples of the stop that made a contact; None without one.

    contact: index in the result.
    """
    for entry in result.stops:
        if entry.contact == contact:
            start = samples(entry.stop.at_s)
            return entry.stop.holder, start, start + samples(entry.stop.seconds)
    return None


def overs_on_air(live: LiveHunt, result: HuntResult, contact: int) -> tuple[OnAir, ...]:
    """Return the overs of a contact, from the one before the trainee's first call to its end."""
    stop = contact_stop(result, contact)
    if stop is None:
        return ()
    holder, start, end = stop
    live.channels[holder].catch_up(end + samples(SETTLE_S))
    overs = [o for o in live.channels[holder].trace if o.end > start and o.start < end]
    first = next((i for i, over in enumerate(overs) if over.speaker == TRAINEE), 0)
    return tuple(overs[max(0, first - 1) :])


def hunt_contact_overs(live: LiveHunt, result: HuntResult, contact: int) -> tuple[HuntOver, ...]:
    """Return the overs of a contact in words. live: the finished hunt."""
    stop = contact_stop(result, contact)
    channel = None if stop is None else live.channels[stop[0]]
    return tuple(
        HuntOver(
            start=over.start,
            end=over.end,
            who={FAR: "they", TRAINEE: "you"}.get(over.speaker, "other"),
            text=over.over.text,
            heard=None if over.speaker != TRAINEE or channel is None else _heard(channel, over),
        )
        for over in overs_on_air(live, result, contact)
    )


def _heard(channel: HeldFrequency, over: OnAir) -> str:
    """Return the first result of the station's ears after an over."""
    for at, heard in channel.frequency.far.listenings:
        if at >= over.end:
            return " / ".join(filter(None, map(heard_text, heard)))
    return ""


def render_speech(live: LiveHunt, holder: int, over: OnAir, speech: SpeechSource) -> Clip | None:
    """Return the words of an over without radio; None for one from the microphone.

    Raises: NoVoice.
    """
    return speech_of(over, speech, live.channels[holder].holder.station.seed)


def replay_near(
    setup: HuntSetup,
    events: Sequence[StoredHuntEvent],
    keeps: Callable[[Holder], bool],
    *,
    until: int,
    speech: SpeechSource,
) -> LiveHunt:
    """Return a recorded hunt at an ear time in samples, with the stations that `keeps` chooses.

    Stations do not influence each other, so these behave as in the hunt, and the others need
    not be simulated. Raises: NoVoice.
    """
    bands = [compose_band(setup, index) for index in range(len(setup.bands))]
    near = [replace(band, holders=tuple(filter(keeps, band.holders))) for band in bands]
    live = build_hunt(setup, events, lambda holder, voices: None, speech=speech, bands=near)
    for act, clip in _acts(events):
        if act.at < until:
            live.act(act, clip)
    live.advance(until)
    return live


def replay_contact(
    setup: HuntSetup,
    events: Sequence[StoredHuntEvent],
    stop: tuple[int, int, int],
    speech: SpeechSource,
) -> LiveHunt:
    """Return a recorded hunt at the end of a contact, with its station only.

    stop: from contact_stop. Raises: NoVoice.
    """
    number, _, end = stop
    return replay_near(
        setup, events, lambda holder: holder.number == number, until=end, speech=speech
    )


def _acts(events: Sequence[StoredHuntEvent]) -> list[tuple[HuntAct, Clip | None]]:
    return [recorded_act(event) for event in events if event.kind == HUNT_ACT]


def render_again(
    setup: HuntSetup,
    events: Sequence[StoredHuntEvent],
    start: int,
    end: int,
    speech: SpeechSource,
) -> Clip:
    """Return what the receiver played between two ear times in samples.

    events: of the record. While the trainee transmitted there is silence. Raises: NoVoice.
    """
    begin = max(0, start - samples(SETTLE_S)) // BLOCK * BLOCK
    hertz = _dial_positions(setup, events, begin, end)
    live = replay_near(
        setup,
        events,
        lambda holder: any(abs(holder.carrier_hz - hz) <= STORY_REACH_HZ for hz in hertz),
        until=begin,
        speech=speech,
    )
    later = [(act, clip) for act, clip in _acts(events) if act.at >= begin]
    audio = _receive(live, later, begin, end)
    return Clip(samples=audio[start - begin :], rate_hz=AUDIO_RATE_HZ)


def _dial_positions(
    setup: HuntSetup, events: Sequence[StoredHuntEvent], start: int, end: int
) -> set[float]:
    """Return the frequencies on which the dial was between two times."""
    dial = LiveHunt(setup).dial
    for act, _ in _acts(events):
        if act.kind == TUNE and act.hz is not None:
            dial.turn(act.at, act.hz)
    return dial.positions(start, end)


def _receive(
    live: LiveHunt, acts: Sequence[tuple[HuntAct, Clip | None]], begin: int, end: int
) -> Samples:
    """Return the sound from `begin` on, as the receiver plays it while the acts are performed."""
    plan, waiting = live.setup.plan, deque(acts)
    sound = HuntSound(dial_hz=live.dial_hz, seed=plan.seed, conditions=plan.conditions, start=begin)
    collector = SignalCollector(plan.conditions.fading)
    pieces: list[Samples] = [np.zeros(0, np.float32)]
    while sound.played < end and not live.ended:
        while waiting and waiting[0][0].at <= sound.now:
            act, clip = waiting.popleft()
            live.act(replace(act, at=max(act.at, live.now)), clip)
            if act.kind == TUNE and act.hz is not None:
                sound.turn(act.hz)
        live.advance(sound.now)
        near = live.channels_in_reach(max(0, sound.now - BLOCK), sound.now)
        for signal in collector.collect(near, since=sound.now):
            sound.add(signal)
        sound.silence(live.sending[-RECENT_SPANS:])
        pieces.append(sound.receive())
    return np.concatenate(pieces)[: end - begin]
