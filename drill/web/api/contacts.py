"""/api/contacts: sessions of contacts with their time, acts, overs by microphone and sounds.

The page owns the clock: every request contains the sample time that its player has reached. A
contact follows from the record alone; the copy in memory only saves replaying it.
"""

from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from datetime import UTC, datetime
from functools import partial
from typing import Any

from drill.contact.acts import VOICE, Act
from drill.contact.air import samples
from drill.contact.events import LiveEvent, SoundStarts
from drill.contact.machine_ears import has_far_recogniser, recognised_text
from drill.contact.review import contact_overs, render_contact, render_over
from drill.contact.sessions import ContactSession, recorded_setup
from drill.contact.setup import (
    DEFAULT_CONDITIONS,
    EARS,
    OFFERED_CALL,
    ContactOptions,
    create_setup,
    default_own_voice,
    own_call_or_offered,
)
from drill.core import audio_files
from drill.core.audio_files import wav_bytes
from drill.core.errors import AlreadyAnswered, UserError
from drill.core.models import Clip
from drill.core.validation import (
    checked_entries,
    checked_flag,
    checked_integer,
    integer_within,
    one_of,
    shown,
)
from drill.sending.own_station import load_own_station, stored_own_station, update_own_station
from drill.web.api.contact_memory import ContactMemories
from drill.web.api.contact_states import ending_json, live_json, session_json
from drill.web.api.sending import exchange_folder
from drill.web.api.sessions import ItemConflict
from drill.web.audio_cache import AudioCache
from drill.web.database import NotFoundError, open_record
from drill.web.request_fields import session_options, short_text

MAX_LISTED = 8
"""Number of sessions that the page lists."""
MAX_CONTACT_S, MAX_OVER_S = 3600.0, 30.0
OTHER_WINDOW = "this session goes on in another window"


class ContactApi:
    """The sessions of contacts of this server."""

    def __init__(self, sounds: AudioCache) -> None:
        """Start with nothing in memory. sounds: cache for the sound at the trainee's ear."""
        self._sounds = sounds
        self._memories = ContactMemories()

    def options(self) -> dict[str, Any]:
        """Return the form's data that is not in /api/choices, and the newest sessions.

        Raises: NoVoice.
        """
        with open_record() as store:
            call, exchange = stored_own_station(store)
            listed = [
                {
                    "id": stored.id,
                    "started": stored.started,
                    "done": stored.finished,
                    "count": recorded_setup(store, stored.id).count,
                }
                for stored in store.contact_sessions(MAX_LISTED)
            ]
        return {
            "call": call,
            "exchange": exchange,
            "offered_call": OFFERED_CALL,
            "voice": default_own_voice(),
            "conditions": DEFAULT_CONDITIONS,
            "microphone": has_far_recogniser(),
            "sessions": listed,
        }

    def begin(self, data: Mapping[str, Any]) -> dict[str, Any]:
        """Begin a session and return it with its first contact.

        data: "call", "voice", "ears", "ladder", "window", and the fields of SessionOptions that
        contacts take. The call is stored as the user's own unless it is the offered one.
        Raises: UserError, NoVoice, NoRecogniser.
        """
        own = {name: data[name] for name in OWN_CHECKS if data.get(name) is not None}
        entries = checked_entries(own, OWN_CHECKS)
        form = {name: value for name, value in data.items() if name not in OWN_CHECKS}
        options = session_options({"conditions": DEFAULT_CONDITIONS, **form})
        call = own_call_or_offered(entries.get("call", ""))
        setup = create_setup(
            options,
            ContactOptions(
                call=call,
                voice=entries.get("voice", ""),
                ears=entries.get("ears") or EARS[0 if has_far_recogniser() else 1],
                ladder=entries.get("ladder", False),
            ),
        )
        load_own_station(setup.own_call, setup.plan.exchange, exchange_folder())
        with open_record() as store:
            if call != OFFERED_CALL:
                update_own_station(store, call, setup.plan.exchange, exchange_folder())
            session = ContactSession.begin(setup, store, now=datetime.now(UTC))
            memory = self._memories.of(session.identity)
            memory.session, memory.window = session, entries.get("window", "")
            memory.foresee()
            _warm_up(session)
            return self._state(session)

    def state(
        self, identity: str, window: str | None = None, station: str | None = None
    ) -> dict[str, Any]:
        """Return a session with its current contact, or with the finished contact of that number.

        window: the window that takes the session over, None to look only.
        Raises: NotFoundError, UserError.
        """
        number = None if station is None else _whole_number("station", station)
        with self._memories.opened(identity, number) as (memory, session):
            if number is not None and not session.contact.ended:
                raise NotFoundError(f"station {number + 1} is not finished yet")
            if window and number is None:
                memory.window = window
            return self._state(session)

    def pass_time(self, identity: str, data: Mapping[str, Any]) -> dict[str, Any]:
        """Advance to `at`, or until sound begins; return the reply.

        Raises: ItemConflict, NotFoundError, UserError, NoVoice.
        """
        entries = checked_entries(data, TIME_CHECKS, required=list(TIME_CHECKS))
        with self._going_on(identity, entries) as session:
            return self._reply(session, session.advance_to_sound(entries["at"]))

    def act(self, identity: str, data: Mapping[str, Any]) -> dict[str, Any]:
        """Record and perform an act; return the reply. Raises: as pass_time."""
        checks = {**TIME_CHECKS, "kind": short_text, "text": short_text}
        entries = checked_entries(data, checks, required=[*TIME_CHECKS, "kind"])
        act = Act(at=entries["at"], kind=entries["kind"], text=entries.get("text", ""))
        if act.kind == VOICE:
            raise UserError("an over by microphone needs its sound", field="kind")
        with self._going_on(identity, entries) as session:
            return self._reply(session, session.act(act))

    def speak(self, query: Mapping[str, str], data: bytes) -> dict[str, Any]:
        """Send an over from the microphone, until its end; return the reply.

        query: "session" and the fields of pass_time. data: a WAV or FLAC file, which is not stored.
        Raises: as pass_time; NoRecogniser.
        """
        names = ("session", *TIME_CHECKS)
        texts = checked_entries(query, dict.fromkeys(names, short_text), required=names)
        entries = {**texts, **{name: _whole_number(name, texts[name]) for name in NUMBERS}}
        clip = audio_files.read_audio_bytes(data, longest_s=MAX_OVER_S)
        if not clip.samples.any():
            raise UserError("no speech was heard, so nothing was sent")
        with self._going_on(texts["session"], entries) as session:
            exchange = session.setup.plan.load_exchange()
            text = recognised_text(clip, exchange) if has_far_recogniser() else ""
            events = session.act(Act(at=entries["at"], kind=VOICE, text=text), clip)
            contact = session.contact
            if contact.is_sending:  # the contact's time went on while the over was spoken
                end = max(over.end for over in contact.frequency.trace)
                events += session.advance_to_sound(end)
            return self._reply(session, events)

    def next_contact(self, identity: str, data: Mapping[str, Any]) -> dict[str, Any]:
        """Begin the next contact; the current one has ended. Raises: as pass_time."""
        checks = {name: TIME_CHECKS[name] for name in ("window", "contact", "acts")}
        entries = checked_entries(data, checks, required=list(checks))
        with self._going_on(identity, entries) as session:
            if session.contact.ended and not session.is_finished:
                session.next_contact()
            return self._state(session)

    def again(self, identity: str, number: int) -> bytes:
        """Return a finished contact as a WAV file. Raises: NotFoundError, NoVoice."""
        return wav_bytes(self._finished(identity, number, render_contact))

    def over(self, identity: str, number: int, index: int, variant: str) -> bytes:
        """Return an over of a finished contact as a WAV file; variant: "noise" or "clean".

        Raises: NotFoundError, NoVoice.
        """
        return wav_bytes(
            self._finished(identity, number, partial(_one_over, index=index, variant=variant))
        )

    def _finished(self, identity: str, number: int, render: Any) -> Clip:
        with self._memories.opened(identity, number) as (_, session):
            if not session.contact.ended or session.number != number:
                raise NotFoundError(f"station {number + 1} is not finished yet")
            clip: Clip = render(session.contact)
            return clip

    @contextmanager
    def _going_on(self, identity: str, entries: Mapping[str, Any]) -> Iterator[ContactSession]:
        """Open a session for the window in which it continues.

        Raises: ItemConflict if it was continued in another window, or if the page does not know the
        newest act; NotFoundError, UserError.
        """
        with self._memories.opened(identity) as (memory, session):
            memory.window = memory.window or entries["window"]
            if memory.window != entries["window"]:
                raise ItemConflict(OTHER_WINDOW, {"other_window": True})
            known = (entries["contact"], entries["acts"])
            if known != (session.number, len(session.contact.acts)):
                raise ItemConflict("this act is recorded already", self._state(session))
            try:
                yield session
                memory.foresee()
            except AlreadyAnswered as error:
                memory.session = None
                raise ItemConflict(str(error), {"other_window": True}) from None

    # --- replies

    def _state(self, session: ContactSession) -> dict[str, Any]:
        return {
            "session": session_json(session),
            **self._reply(session, session.contact.frequency.present_sound()),
        }

    def _reply(self, session: ContactSession, events: Sequence[LiveEvent]) -> dict[str, Any]:
        """Return the current contact, with the sound that begins, if any."""
        contact = session.contact
        reply: dict[str, Any] = {"live": live_json(session, events), "sound": None, "ending": None}
        starts = [event for event in events if isinstance(event, SoundStarts)]
        if contact.ended:
            reply["ending"] = ending_json(session)
            reply["session"] = session_json(session)
        elif starts and starts[-1].render is not None and not contact.is_sending:
            url = self._sounds.add(starts[-1].render())
            reply["sound"] = {"url": url, "at": starts[-1].at, "until": starts[-1].until}
        return reply


def _warm_up(session: ContactSession) -> None:
    """Let the far end listen to noise, which loads its recogniser and filters.

    Judging the first over then takes no longer than judging others.
    """
    noise = session.contact.frequency.air.receive("far", (), 0, samples(0.5), told=())
    if session.setup.ears == EARS[0] and noise.clip is not None:
        recognised_text(noise.clip(), session.setup.plan.load_exchange())


def _one_over(contact: Any, *, index: int, variant: str) -> Clip:
    if index >= len(contact_overs(contact)):
        raise NotFoundError(f"this contact has no over {index + 1}")
    return render_over(contact, index, clean=variant == "clean")


def _whole_number(name: str, text: str) -> int:
    """Return a number of a query. Raises: UserError."""
    if not (text.isascii() and text.isdigit() and len(text) <= 9):
        raise UserError(
            f"{name} {shown(text)} has to be a whole number of at most 9 digits", field=name
        )
    return int(text)


def _checked_at(name: str, value: Any) -> int:
    at = checked_integer(name, value)
    return integer_within(name, at, 0, samples(MAX_CONTACT_S), label="time")


def _checked_ears(name: str, value: Any) -> str:
    return one_of(name, value, EARS)


OWN_CHECKS: Mapping[str, Any] = {
    "call": short_text,
    "voice": short_text,
    "ears": _checked_ears,
    "ladder": checked_flag,
    "window": short_text,
}
"""Fields of a new session besides those of every session."""
TIME_CHECKS: Mapping[str, Any] = {
    "window": short_text,
    "contact": checked_integer,
    "acts": checked_integer,
    "at": _checked_at,
}
"""window: chosen by the page. contact, acts: number of the contact and of the acts that the page
knows. at: time of the page's clock in samples."""
NUMBERS = ("contact", "acts", "at")
