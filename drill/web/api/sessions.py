"""Sittings as the page sees them: begun, gone on with, answered. All of it is in the record.

Every request opens the record anew, so a server that was killed has lost nothing, and two windows
see the same. What stays in memory is only what can be made again: sounds, and which items are being
spoken ahead.
"""

import threading
from collections import OrderedDict
from collections.abc import Mapping
from concurrent.futures import Future
from datetime import UTC, datetime
from typing import Any

from drill.core.audio_files import wav_bytes
from drill.core.errors import AlreadyAnswered, UserError
from drill.core.models import Answer, Clip, Item
from drill.core.validation import Check, checked_entries, flag, integer, number
from drill.items.render import render, render_clean
from drill.records.store import Store
from drill.session import options, settings
from drill.session.blocks import going_on
from drill.session.session import Practice
from drill.web import request_fields
from drill.web.api.results import result_json
from drill.web.api.states import State, practice_of, state, told
from drill.web.database import NotFoundError, open_record

OPEN = 5
LOOKED_AT = 40
"""Sittings that are looked at to find the open ones."""
MOST_SOUNDS = 12
MOST_SITTINGS = 20
LONGEST_S = 86_400.0
MOST_REPLAYS = 1000


class Conflict(AlreadyAnswered):
    """An item that was answered already; state: of its sitting."""

    def __init__(self, message: str, state: State) -> None:
        """Take the sentence and the state."""
        super().__init__(message)
        self.state = state


class _Memory:
    """What one sitting keeps in memory: futures of speech, sounds by their name, one lock."""

    def __init__(self) -> None:
        self.lock = threading.Lock()
        self.spoken: dict[int, Future[None]] = {}
        self.sounds: OrderedDict[tuple[int, str], bytes] = OrderedDict()


class Desk:
    """All sittings of this server."""

    def __init__(self) -> None:
        """Begin with nothing in memory."""
        self._memories: OrderedDict[str, _Memory] = OrderedDict()
        self._lock = threading.Lock()

    def _memory(self, identity: str) -> _Memory:
        with self._lock:
            memory = self._memories.setdefault(identity, _Memory())
            self._memories.move_to_end(identity)
            while len(self._memories) > MOST_SITTINGS:
                self._memories.popitem(last=False)
            return memory

    def begin(self, data: Mapping[str, Any]) -> State:
        """Begin a sitting as a form asks for. Raises: UserError, NoVoice."""
        form = dict(data)
        kind = request_fields.short_text("kind", form.pop("kind", None))
        until = form.pop("until_db", None)
        until_db = None if until is None else number("until_db", until)
        compared = _compared(form.pop("compare", None))
        choices = request_fields.session_options(form, null_is_noiseless=kind == "practice")
        with open_record() as store:
            course = options.course_for(kind, choices, store, until_db=until_db, compared=compared)
            practice = Practice.begin(course, store, now=datetime.now(UTC))
            last = {key: value for key, value in data.items() if key not in ("kind", "seed")}
            settings.change(store, {f"last_{kind}": last})
            self._practice(store, practice.identity).prepare(0)  # while the page gets ready
            return state(practice)

    def state(self, identity: str) -> State:
        """Return the state of a sitting. Raises: NotFoundError, UserError."""
        with open_record() as store:
            return state(self._practice(store, identity))

    def open(self) -> list[State]:
        """Return the states of sittings that can be gone on with, newest first."""
        found: list[State] = []
        with open_record() as store:
            for sitting in store.sittings(LOOKED_AT):
                if len(found) < OPEN and going_on(sitting, store) is not None:
                    found.append(state(self._practice(store, sitting.id)))
        return found

    def _practice(self, store: Store, identity: str) -> Practice:
        return practice_of(store, identity, lambda: self._memory(identity).spoken)

    def item(self, identity: str, number: int) -> dict[str, Any]:
        """Return what is known about an item before it is copied; its sound is ready then.

        Raises: NotFoundError, NoVoice.
        """
        with open_record() as store:
            practice = self._practice(store, identity)
            item = _item(practice, number)
            data = self._sound(practice, number, "noise")
        return {
            "number": number,
            "fields": [
                {"name": field.name, "optional_if": field.optional_if}
                for field in item.message.fields
            ],
            "sound": f"/api/sittings/{identity}/items/{number}/noise.wav",
            "seconds": round(seconds_of(data), 3),
        }

    def sound(self, identity: str, number: int, which: str) -> bytes:
        """Return the WAV file of an item, in the noise or clean. Raises: NotFoundError, NoVoice."""
        with open_record() as store:
            practice = self._practice(store, identity)
            _item(practice, number)
            if number < practice.number and not practice.course.feedback:
                raise NotFoundError("nothing is heard twice in this kind of sitting")
            if which == "clean" and number == practice.number:
                raise NotFoundError("an item is heard clean when it has been answered")
            return self._sound(practice, number, which)

    def _sound(self, practice: Practice, number: int, which: str) -> bytes:
        """Return a sound, from memory where it is there; no two requests make the same at once."""
        memory = self._memory(practice.identity)
        with memory.lock:
            kept = memory.sounds.get((number, which))
            if kept is None:
                kept = wav_bytes(_clip(practice, number, which))
                memory.sounds[number, which] = kept
                while len(memory.sounds) > MOST_SOUNDS:
                    memory.sounds.popitem(last=False)
            return kept

    def result(self, identity: str) -> dict[str, Any]:
        """Return what a sitting tells at its end. Raises: NotFoundError, UserError."""
        with open_record() as store:
            return result_json(self._practice(store, identity), store)

    def answer(self, identity: str, data: Mapping[str, Any]) -> dict[str, Any]:
        """Score and keep an answer. Raises: Conflict where it has one, NotFoundError, UserError."""
        found = checked_entries(data, ANSWER, required=("number", "seconds"))
        answer = _answer(found)
        with open_record() as store:
            practice = self._practice(store, identity)
            number = found["number"]
            if number > practice.number or (practice.finished and number == practice.number):
                raise UserError(f"item {number + 1} has not been heard yet")
            try:
                if number < practice.number:
                    raise AlreadyAnswered(f"item {number + 1} has been answered already")
                attempt = practice.answer(answer, now=datetime.now(UTC))
            except AlreadyAnswered as error:
                now = state(self._practice(store, identity))
                raise Conflict(str(error), now) from None
            return told(practice, attempt)


ANSWER: Mapping[str, Check] = {
    "number": integer,
    "text": request_fields.short_text,
    "seconds": number,
    "replays": integer,
    "gave_up": flag,
}


def _answer(found: Mapping[str, Any]) -> Answer:
    """Return the answer of a request. Raises: UserError."""
    text = " ".join(found.get("text", "").split())
    gave_up = found.get("gave_up", False)
    if not text and not gave_up:
        raise UserError("an empty line is no answer; type what you have, or give up")
    seconds, replays = found["seconds"], found.get("replays", 0)
    if not 0 <= seconds <= LONGEST_S:
        raise UserError(f"seconds {seconds:g} is out of range; allowed are 0 to {LONGEST_S:g}")
    if not 0 <= replays <= MOST_REPLAYS:
        raise UserError(f"replays {replays} is out of range; allowed are 0 to {MOST_REPLAYS}")
    return Answer(
        typed="" if gave_up else text,
        seconds=round(seconds, 3),
        replays=replays,
        gave_up=gave_up,
    )


def _compared(data: Any) -> tuple[str | None, tuple[str, ...]]:
    if data is None:
        return None, ()
    found = checked_entries(
        data,
        {"thing": request_fields.short_text, "values": request_fields.short_list},
        where="compare",
    )
    return found.get("thing"), found.get("values", ())


def _item(practice: Practice, number: int) -> Item:
    """Return an item that was answered, or the present one. Raises: NotFoundError."""
    if 0 <= number < practice.number:
        return practice.attempts[number].item
    if number == practice.number and not practice.finished:
        return practice.item()
    raise NotFoundError(f"there is no item {number + 1} yet in this sitting")


def _clip(practice: Practice, number: int, which: str) -> Clip:
    if number == practice.number:
        practice.prepare(number)
        return practice.present()[1]
    item = practice.attempts[number].item
    return render_clean(item) if which == "clean" else render(item)


def seconds_of(wav: bytes) -> float:
    """Return the length of a WAV file of 16-bit mono, from its header."""
    rate_hz = int.from_bytes(wav[24:28], "little")
    return (len(wav) - 44) / 2 / rate_hz
