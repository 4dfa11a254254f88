"""A hunt with its record: every act is on disk before it takes effect.

The record holds the set-up, the acts with their ear times, what a recogniser heard of overs by
microphone, and from time to time how far the ear has come. The set-up and the acts give the same
story again, so that a hunt continues after any interruption.
"""

from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import replace
from datetime import datetime
from functools import partial
from typing import Any, Self

import numpy as np

from drill import __version__
from drill.contact.acts import VOICE
from drill.contact.air import samples
from drill.contact.hearing import Ears, HeardOver
from drill.contact.machine_ears import has_far_recogniser
from drill.contact.recorded_ears import RecordedEars
from drill.core.errors import AlreadyAnswered, UserError
from drill.core.models import Clip
from drill.core.structuring import from_data, to_data
from drill.hunt.acts import HuntAct
from drill.hunt.band import Band, Holder
from drill.hunt.debrief import hunt_result
from drill.hunt.ears import far_machine_ears
from drill.hunt.events import HuntEvent
from drill.hunt.expectation import ExpectedTimes
from drill.hunt.judging import Expect
from drill.hunt.live import LiveHunt
from drill.hunt.results import HuntResult
from drill.hunt.setup import HuntSetup
from drill.hunt.speech import SpeechSource
from drill.radio import AUDIO_RATE_HZ
from drill.records.hunts import HUNT_MODE, HUNT_RESULT, StoredHunt, StoredHuntEvent
from drill.records.store import Store

HUNT_ACT, HUNT_TIME, HUNT_HEARD = "act", "time", "heard"
"""Kinds of events in the record besides HUNT_RESULT: an act, an ear time that was reached, and what
a station's recogniser heard of an over by microphone."""
TIME_EVERY = samples(5.0)
"""Number of samples without an act after which the ear time is recorded."""


class HuntSession:
    """A hunt that is recorded. `live` is the hunt itself.

    live: change it only through `act` and `advance`. identity: id in the record.
    """

    def __init__(
        self, setup: HuntSetup, store: Store, *, identity: str, speech: SpeechSource | None = None
    ) -> None:
        """Continue the recorded hunt with the id `identity`. speech: as in LiveHunt."""
        self.setup, self.identity, self._store = setup, identity, store
        events = store.hunt_events(identity)
        self._written, self._recorded_at = len(events), 0
        self.live = build_hunt(setup, events, self._record_hearing, speech=speech)
        self._result = _recorded_result(events)
        replay_hunt(self.live, events)
        self._recorded_at = self.live.now

    @classmethod
    def begin(
        cls, setup: HuntSetup, store: Store, *, now: datetime, speech: SpeechSource | None = None
    ) -> Self:
        """Record a new hunt and return it."""
        identity = store.begin_session(
            setup.plan, now=now, version=__version__, mode=HUNT_MODE, course=setup.to_dict()
        )
        return cls(setup, store, identity=identity, speech=speech)

    @classmethod
    def load(cls, store: Store, identity: str, *, speech: SpeechSource | None = None) -> Self:
        """Return a recorded hunt. Raises: UserError if there is none, or it cannot be used."""
        stored = next(store.hunts(identity=identity), None)
        if stored is None:
            raise UserError(f"the record has no hunt {identity!r}", field="session")
        return cls(recorded_hunt_setup(stored), store, identity=identity, speech=speech)

    @classmethod
    def resume(cls, store: Store, *, speech: SpeechSource | None = None) -> Self:
        """Continue the last hunt where it stopped.

        Raises: UserError if there is none, or if it has ended.
        """
        newest = next(store.hunts(1), None)
        if newest is None:
            raise UserError("there is no hunt to continue; start one")
        if newest.result is not None:
            raise UserError("the last hunt has ended; start a new one")
        return cls(recorded_hunt_setup(newest), store, identity=newest.id, speech=speech)

    def events(self) -> list[StoredHuntEvent]:
        """Return the recorded events in order."""
        return self._store.hunt_events(self.identity)

    def follow(self, store: Store) -> bool:
        """Use another connection to the same record.

        Return False if the record has events that this object did not write: then load it again.
        """
        self._store = store
        return store.count_hunt_events(self.identity) == self._written

    def advance(self, to: int) -> list[HuntEvent]:
        """Advance the ear time. See LiveHunt.advance.

        Raises: AlreadyAnswered if the hunt was continued in another window.
        """
        if self.live.ended:
            return []
        to = min(max(to, self.live.now), self.live.ends_at)
        if to - self._recorded_at >= TIME_EVERY or to == self.live.ends_at:
            self._write(HUNT_TIME, {"at": to})
            self._recorded_at = to
        return self.live.advance(to)

    def act(self, act: HuntAct, clip: Clip | None = None) -> list[HuntEvent]:
        """Record and perform an act. See LiveHunt.act.

        Raises: AlreadyAnswered if the hunt was continued in another window.
        """
        act = replace(act, at=max(act.at, self.live.now))
        events = self.advance(act.at)
        if self.live.ended:
            return events
        data = to_data(act)
        if act.kind == VOICE and clip is not None:
            data["seconds"] = clip.seconds
        self._write(HUNT_ACT, data)
        self._recorded_at = act.at
        return events + self.live.act(act, clip)

    def result(self, expect: Expect | None = None) -> HuntResult:
        """Return the result of a hunt that has ended, and record it.

        It is computed once, which may take some seconds. expect: as in hunt_result, None for the
        model's. Raises: ValueError before the end.
        """
        if not self.live.ended:
            raise ValueError("the hunt has not ended yet")
        if self._result is None:
            result = hunt_result(self.live, expect or ExpectedTimes(self.setup).expected_time)
            # Another window may have recorded the result meanwhile; the first one counts.
            with suppress(AlreadyAnswered):
                self._write(HUNT_RESULT, to_data(result))
            self._result = _recorded_result(self.events()) or result
        return self._result

    def _record_hearing(self, holder: Holder, voices: tuple[HeardOver, ...]) -> None:
        data = {"holder": holder.number, "at": self.live.now, "voices": to_data(voices)}
        self._write(HUNT_HEARD, data)

    def _write(self, kind: str, data: dict[str, Any]) -> None:
        self._store.add_hunt_event(self.identity, self._written, StoredHuntEvent(kind, data))
        self._written += 1


def recorded_hunt_setup(stored: StoredHunt) -> HuntSetup:
    """Return the set-up of a recorded hunt. Raises: UserError."""
    return HuntSetup.from_dict(stored.plan, stored.setup)


def build_hunt(
    setup: HuntSetup,
    events: Sequence[StoredHuntEvent],
    record: Callable[[Holder, tuple[HeardOver, ...]], None],
    *,
    speech: SpeechSource | None,
    bands: Sequence[Band] = (),
) -> LiveHunt:
    """Return a hunt at its start; the stations' recognisers repeat their recorded results.

    record: called with each result that is not recorded yet. bands: as in LiveHunt.
    """
    recorded: dict[int, list[tuple[HeardOver, ...]]] = {}
    for event in events:
        if event.kind == HUNT_HEARD:
            voices = tuple(from_data(HeardOver, v, "voices") for v in event.data["voices"])
            recorded.setdefault(event.data["holder"], []).append(voices)

    def ears(holder: Holder) -> Ears:
        heard = recorded.get(holder.number, [])
        return RecordedEars(far_machine_ears(setup, holder), heard, partial(record, holder))

    has_ears = bool(recorded) or has_far_recogniser()
    return LiveHunt(setup, speech=speech, machine_ears=ears if has_ears else None, bands=bands)


def recorded_act(event: StoredHuntEvent) -> tuple[HuntAct, Clip | None]:
    """Return a recorded act, with silence in place of the sound of an over by microphone."""
    data = dict(event.data)
    seconds = data.pop("seconds", None)
    clip = None
    if seconds is not None:
        clip = Clip(samples=np.zeros(samples(seconds), np.float32), rate_hz=AUDIO_RATE_HZ)
    return from_data(HuntAct, data, "act"), clip


def replay_hunt(live: LiveHunt, events: Sequence[StoredHuntEvent]) -> list[HuntEvent]:
    """Repeat the recorded acts at their times, up to the last recorded time; return the events."""
    happened: list[HuntEvent] = []
    for event in events:
        if event.kind == HUNT_TIME:
            happened += live.advance(event.data["at"])
        elif event.kind == HUNT_ACT:
            happened += live.act(*recorded_act(event))
    return happened


def _recorded_result(events: Sequence[StoredHuntEvent]) -> HuntResult | None:
    """Return the recorded result, None if there is none, or if this version cannot read it."""
    with suppress(UserError):
        for event in events:
            if event.kind == HUNT_RESULT:
                return from_data(HuntResult, event.data, "result")
    return None
