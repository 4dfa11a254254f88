"""/api/sessions: begin and continue sessions, play their items, score answers.

Every request reads the session from the record, so nothing is lost if the server is killed, and two
windows show the same state. Memory holds only what can be made again (drill.web.session_memory).
"""

import threading
from collections import OrderedDict
from collections.abc import Mapping
from datetime import UTC, datetime
from functools import partial
from typing import Any

from drill.core.audio_files import wav_bytes
from drill.core.errors import AlreadyAnswered, UserError
from drill.core.models import Answer, Clip, Item
from drill.core.validation import (
    Check,
    checked_entries,
    checked_flag,
    checked_integer,
    integer_within,
    within,
)
from drill.items.prefetch import PREFETCH_DEPTH
from drill.items.render import render, render_clean
from drill.records.store import Store
from drill.session.answer_line import spoken_characters, spoken_question
from drill.session.kinds import kind_named
from drill.session.recorded import open_kind
from drill.session.session import Session
from drill.session.settings import change_settings, last_form_name
from drill.web import request_fields
from drill.web.api.results import result_json
from drill.web.api.states import StateJson, answer_reply, load_session, session_state
from drill.web.database import NotFoundError, open_record
from drill.web.session_memory import SessionMemory

MAX_OPEN_LISTED = 5
"""Largest number of open sessions that the page lists."""
MAX_SESSIONS_SEARCHED = 40
"""Only this many of the newest sessions are searched for open ones."""
MAX_SOUNDS = 12
"""Number of sounds kept in memory for each session."""
MAX_SESSIONS = 20
"""Number of sessions that keep anything in memory."""
MAX_ANSWER_S = 86_400.0
MAX_REPLAYS = 1000


class ItemConflict(AlreadyAnswered):
    """The item already has an answer; the response has status 409.

    state: state of the session in the record.
    """

    def __init__(self, message: str, state: StateJson) -> None:
        """Store message and state."""
        super().__init__(message, field="number")
        self.state = state


class SessionApi:
    """The sessions of this server."""

    def __init__(self) -> None:
        """Start with nothing in memory."""
        self._memories: OrderedDict[str, SessionMemory] = OrderedDict()
        self._lock = threading.Lock()

    def _memory(self, identity: str) -> SessionMemory:
        with self._lock:
            memory = self._memories.setdefault(identity, SessionMemory())
            self._memories.move_to_end(identity)
            while len(self._memories) > MAX_SESSIONS:
                self._memories.popitem(last=False)
            return memory

    def _load(self, store: Store, identity: str) -> Session:
        return load_session(store, identity, self._memory)

    def begin(self, data: Mapping[str, Any]) -> StateJson:
        """Begin a session and return its state.

        data: "kind" and the fields of drill.session.options.SessionOptions.
        Raises: UserError, NoVoice.
        """
        kind = kind_named(request_fields.short_text("kind", data.get("kind")))
        form = {name: value for name, value in data.items() if name != "kind"}
        options = request_fields.session_options(form, null_is_noiseless=not kind.sets_snr())
        with open_record() as store:
            setup = kind.create(options, store)
            session = Session.begin(setup, store, now=datetime.now(UTC))
            last_form = {name: value for name, value in form.items() if name != "seed"}
            change_settings(store, {last_form_name(kind.name): last_form})
            loaded = self._load(store, session.identity)
            for number in range(PREFETCH_DEPTH):  # while the page loads and the trainee gets ready
                loaded.prefetch(number)
            return session_state(session)

    def state(self, identity: str) -> StateJson:
        """Return the state of a session. Raises: NotFoundError, UserError."""
        with open_record() as store:
            return session_state(self._load(store, identity))

    def open_sessions(self) -> list[StateJson]:
        """Return the states of sessions that can continue, newest first."""
        states: list[StateJson] = []
        with open_record() as store:
            for record in store.sessions(MAX_SESSIONS_SEARCHED):
                if len(states) < MAX_OPEN_LISTED and open_kind(record, store) is not None:
                    states.append(session_state(self._load(store, record.id)))
        return states

    def item(self, identity: str, number: int) -> dict[str, Any]:
        """Return fields and sound of an item, once its sound is ready.

        Raises: NotFoundError, NoVoice.
        """
        with open_record() as store:
            session = self._load(store, identity)
            item = _presented_item(session, number)
            wav = self._wav(session, number, "noise")
        return {
            "number": number,
            "fields": [
                {"name": field.name, "optional_if": field.optional_if}
                for field in item.message.fields
            ],
            "sound": f"/api/sessions/{identity}/items/{number}/noise.wav",
            "seconds": round(wav_seconds(wav), 3),
        }

    def sound(self, identity: str, number: int, variant: str) -> bytes:
        """Return the WAV file of an item; variant: "noise" or "clean".

        Raises: NotFoundError, also if the kind of session does not allow the item to be heard now;
        NoVoice.
        """
        with open_record() as store:
            session = self._load(store, identity)
            _presented_item(session, number)
            if number < session.number and not session.kind.gives_feedback:
                raise NotFoundError("this session plays each item only once")
            if variant == "clean" and number == session.number:
                raise NotFoundError("an item can be heard clean only after its answer")
            return self._wav(session, number, variant)

    def _wav(self, session: Session, number: int, variant: str) -> bytes:
        """Return a sound, from memory if possible; the lock prevents rendering it twice."""
        memory = self._memory(session.identity)
        with memory.lock:
            wav = memory.sounds.get((number, variant))
            if wav is None:
                wav = wav_bytes(_clip(session, number, variant))
                memory.sounds[number, variant] = wav
                while len(memory.sounds) > MAX_SOUNDS:
                    memory.sounds.popitem(last=False)
            return wav

    def result(self, identity: str) -> dict[str, Any]:
        """Return the result of a session. Raises: NotFoundError, UserError."""
        with open_record() as store:
            return result_json(self._load(store, identity), store)

    def answer(self, identity: str, data: Mapping[str, Any]) -> dict[str, Any]:
        """Score and store an answer; return the reply.

        An answer in code words is not stored at first: the reply is only a "question", and the
        same answer with "as_typed": true is stored.

        Raises: ItemConflict if the item already has an answer; NotFoundError; UserError.
        """
        values = checked_entries(data, ANSWER_CHECKS, required=("number", "seconds"))
        answer = _answer(values)
        number: int = values["number"]
        with open_record() as store:
            session = self._load(store, identity)
            if number > session.number or (session.finished and number == session.number):
                raise UserError(f"item {number + 1} has not been played yet", field="number")
            try:
                if number < session.number:
                    raise AlreadyAnswered(f"item {number + 1} already has an answer")
                if not values.get("as_typed") and session.asks_for_call:
                    characters = spoken_characters(answer.typed)
                    if characters:
                        return {"question": spoken_question(characters)}
                attempt = session.answer(answer, now=datetime.now(UTC))
            except AlreadyAnswered as error:
                state = session_state(self._load(store, identity))
                raise ItemConflict(str(error), state) from None
            return answer_reply(session, attempt)


ANSWER_CHECKS: Mapping[str, Check] = {
    "number": checked_integer,
    "text": request_fields.short_text,
    "seconds": partial(within, low=0, high=MAX_ANSWER_S),
    "replays": partial(integer_within, low=0, high=MAX_REPLAYS),
    "gave_up": checked_flag,
    "as_typed": checked_flag,
}


def _answer(values: Mapping[str, Any]) -> Answer:
    """Return the answer from a request's checked values. Raises: UserError."""
    typed = " ".join(values.get("text", "").split())
    gave_up = values.get("gave_up", False)
    if not typed and not gave_up:
        raise UserError("the answer is empty; type what you have, or give up", field="text")
    return Answer(
        typed="" if gave_up else typed,
        seconds=round(values["seconds"], 3),
        replays=values.get("replays", 0),
        gave_up=gave_up,
    )


def _presented_item(session: Session, number: int) -> Item:
    """Return an item that was answered, or the current one. Raises: NotFoundError."""
    if 0 <= number < session.number:
        return session.attempts[number].item
    if number == session.number and not session.finished:
        return session.item()
    raise NotFoundError(f"this session has no item {number + 1} yet")


def _clip(session: Session, number: int, variant: str) -> Clip:
    if number == session.number:
        session.prefetch(number)
        return session.present()[1]
    item = session.attempts[number].item
    return render_clean(item) if variant == "clean" else render(item)


def wav_seconds(wav: bytes) -> float:
    """Return the length of a WAV file of 16-bit mono, from its header."""
    rate_hz = int.from_bytes(wav[24:28], "little")
    return (len(wav) - 44) / 2 / rate_hz
