"""A session of contacts with its record: every act is on disk before it takes effect."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import datetime
from typing import Any, Self

import numpy as np

from drill import __version__
from drill.contact.acts import VOICE, Act
from drill.contact.air import samples
from drill.contact.debrief import ContactResult, contact_result
from drill.contact.events import LiveEvent, SoundStarts
from drill.contact.frequency import Frequency, Trainee
from drill.contact.hearing import Ears, HeardOver
from drill.contact.live import LiveContact
from drill.contact.machine_ears import MachineEars, far_recogniser
from drill.contact.model_ears import ModelEars
from drill.contact.recorded_ears import RecordedEars
from drill.contact.rendered_air import RenderedAir
from drill.contact.setup import ContactSetup
from drill.contact.stations import FarStation
from drill.core.errors import UserError
from drill.core.models import Clip
from drill.core.structuring import from_data, to_data
from drill.radio import AUDIO_RATE_HZ
from drill.records.contacts import CONTACT_MODE, ContactEvent, StoredContactSession
from drill.records.store import Store

ACT, HEARD, RESULT = "act", "heard", "result"
"""Kinds of events in the record."""


class ContactSession:
    """A session of contacts. `contact` is the current one; `next_contact` changes it.

    results: of the contacts so far, in order.
    """

    def __init__(
        self, setup: ContactSetup, store: Store, *, identity: str, number: int | None = None
    ) -> None:
        """Continue the recorded session with the id `identity`.

        number: the contact to open, None for the first that has not ended, or the last of all.
        """
        self.setup, self.identity, self._store = setup, identity, store
        self.results = [
            from_data(ContactResult, row.result) for row in store.contact_results(identity)
        ]
        self._written = 0
        self._finished_number = -1
        self._open_contact(min(len(self.results), setup.count - 1) if number is None else number)

    @classmethod
    def begin(cls, setup: ContactSetup, store: Store, *, now: datetime) -> Self:
        """Record a new session and return it."""
        identity = store.begin_session(
            setup.plan, now=now, version=__version__, mode=CONTACT_MODE, course=setup.to_dict()
        )
        return cls(setup, store, identity=identity)

    @classmethod
    def resume(cls, store: Store) -> Self:
        """Continue the last session where it stopped.

        Raises: UserError if there is none, or if it is finished.
        """
        newest = store.contact_sessions(1)
        if not newest:
            raise UserError("there is no session of contacts to continue; start one")
        session = cls.load(store, newest[0])
        if session.is_finished:
            raise UserError("the last session of contacts is finished; start a new one")
        return session

    @classmethod
    def load(cls, store: Store, stored: StoredContactSession, *, number: int | None = None) -> Self:
        """Return a recorded session; number: as in the constructor.

        Raises: UserError if its set-up cannot be used any more.
        """
        setup = recorded_setup(store, stored.id)
        return cls(setup, store, identity=stored.id, number=number)

    @property
    def number(self) -> int:
        """Number of the current contact, counted from 0."""
        return self._number

    def follow(self, store: Store) -> bool:
        """Use another connection to the same record.

        Return False if the record has events that this session did not write: then load it again.
        """
        self._store = store
        return len(store.contact_events(self.identity, self._number)) == self._written

    @property
    def is_finished(self) -> bool:
        """True if every contact has ended."""
        return len(self.results) >= self.setup.count

    def advance(self, to: int) -> list[LiveEvent]:
        """Advance the current contact. See LiveContact.advance."""
        events = self.contact.advance(to)
        self._finish_if_ended()
        return events

    def advance_to_sound(self, to: int) -> list[LiveEvent]:
        """Advance to `to`, or until sound begins at the trainee's ear."""
        events: list[LiveEvent] = []
        while not self.contact.ended:
            following = self.contact.next_at
            if following is None or following > to:
                return events + self.advance(to)
            events += self.advance(following)
            if any(isinstance(event, SoundStarts) for event in events):
                break
        return events

    def act(self, act: Act, clip: Clip | None = None) -> list[LiveEvent]:
        """Record and perform an act. See LiveContact.act.

        Raises: AlreadyAnswered if the contact was continued in another window.
        """
        act = replace(act, at=max(act.at, self.contact.now))
        events = self.contact.advance(act.at)
        if self.contact.ended:
            self._finish_if_ended()
            return events
        data = to_data(act)
        if act.kind == VOICE and clip is not None:
            data["seconds"] = clip.seconds
        self._write(ACT, data)
        events += self.contact.act(act, clip)
        self._finish_if_ended()
        return events

    def next_contact(self) -> LiveContact:
        """Begin the next contact; the current one has ended."""
        self._open_contact(min(len(self.results), self.setup.count - 1))
        return self.contact

    def _open_contact(self, number: int) -> None:
        """Open a contact, and replay its recorded events."""
        events = self._store.contact_events(self.identity, number)
        self._written = len(events)
        self._number = number
        self.contact = build_contact(self.setup, number, events, self._record_hearing)
        replay_acts(self.contact, events)
        if events and events[-1].kind == HEARD:
            self.contact.advance(events[-1].data["at"])
        if any(event.kind == RESULT for event in events):
            self._finished_number = number
        self._finish_if_ended()

    def _record_hearing(self, heard: tuple[HeardOver, ...]) -> None:
        self._write(HEARD, {"at": self.contact.now, "voices": to_data(heard)})

    def _write(self, kind: str, data: dict[str, Any]) -> None:
        event = ContactEvent(kind, data)
        self._store.add_contact_event(self.identity, self._number, self._written, event)
        self._written += 1

    def _finish_if_ended(self) -> None:
        """Record the result, once, when the contact has ended."""
        if not self.contact.ended or self._finished_number == self._number:
            return
        result = contact_result(self.contact, place=self.setup.slot(self._number).place)
        self._write(RESULT, to_data(result))
        self._finished_number = self._number
        self.results.append(result)


def recorded_setup(store: Store, identity: str) -> ContactSetup:
    """Return the set-up of a recorded session. Raises: UserError."""
    record = store.session(identity)
    if record is None:
        raise UserError(f"the record has no session {identity!r}", field="session")
    return ContactSetup.from_dict(record.plan, record.course)


def build_contact(
    setup: ContactSetup,
    number: int,
    events: Sequence[ContactEvent],
    record: Callable[[tuple[HeardOver, ...]], None],
) -> LiveContact:
    """Return a contact at its start; its ears repeat their recorded results."""
    station, slot = setup.station(number), setup.slot(number)
    heard = [
        tuple(from_data(HeardOver, voice, "voices") for voice in event.data["voices"])
        for event in events
        if event.kind == HEARD
    ]
    ears = make_ears(setup, station)
    frequency = Frequency(
        station=station,
        trainee=Trainee(speaker=setup.own_speaker(number), watts=slot.watts),
        plan=setup.plan,
        exchange=setup.plan.load_exchange(),
        values=setup.values,
        air=RenderedAir(station, far_shift_db=getattr(ears, "far_shift_db", 0.0)),
        ears=RecordedEars(ears, heard, record),
    )
    return LiveContact(frequency)


def make_ears(setup: ContactSetup, station: FarStation) -> Ears:
    """Return the far operator's ears."""
    if setup.ears == "recogniser":
        return MachineEars(
            far_recogniser(),
            setup.values.recogniser,
            station.ear_offset_db,
            setup.plan.load_exchange(),
        )
    return ModelEars(
        setup.values.recogniser,
        station.ear_offset_db,
        lambda speaker, number: station.stream(f"ears {speaker} {number}"),
    )


def replay_acts(contact: LiveContact, events: Sequence[ContactEvent]) -> list[LiveEvent]:
    """Repeat the recorded acts at their times, and return the events."""
    happened: list[LiveEvent] = []
    for event in events:
        if event.kind != ACT:
            continue
        data = dict(event.data)
        seconds = data.pop("seconds", None)
        act = from_data(Act, data, "act")
        silent = None if seconds is None else _silence(seconds)
        happened += contact.act(act, silent)
    return happened


def _silence(seconds: float) -> Clip:
    """Return silence for an over whose sound was not stored."""
    return Clip(samples=np.zeros(samples(seconds), np.float32), rate_hz=AUDIO_RATE_HZ)
