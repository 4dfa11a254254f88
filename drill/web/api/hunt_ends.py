"""/api/hunts/ID/end: the end of a hunt, and the overs of its contacts to hear again.

Everything follows from the record. The last hunt that was replayed stays in memory.
"""

import threading
from dataclasses import asdict
from typing import Any

from drill.contact.wording import SPEAKER_NAMES, clock
from drill.core.audio_files import wav_bytes
from drill.core.errors import UserError
from drill.core.models import Clip
from drill.core.structuring import from_data
from drill.core.validation import shown
from drill.hunt.advice import ADVISED_PHASES
from drill.hunt.advice_wording import advice_texts, no_advice_sentence
from drill.hunt.dial_picture import dial_picture
from drill.hunt.explanation import explaining_sentences
from drill.hunt.live import LiveHunt
from drill.hunt.results import HuntResult
from drill.hunt.review import (
    MARGIN_S,
    HuntOver,
    contact_stop,
    hunt_contact_overs,
    overs_on_air,
    render_again,
    render_speech,
    replay_contact,
)
from drill.hunt.sessions import HuntSession, recorded_hunt_setup
from drill.hunt.speech import VoiceSpeech
from drill.hunt.stops import HUNT_PHASES
from drill.hunt.wording import (
    HUNT_PHASE_NAMES,
    contacts_table,
    heading_parts,
    lead_sentence,
    quarters_table,
    stops_table,
    times_table,
    verdict_text,
)
from drill.radio import AUDIO_RATE_HZ
from drill.records.hunts import StoredHunt
from drill.records.store import Store
from drill.web.database import NotFoundError, open_record

EARNS = "exchange"
"""The phase in which a contact is made."""


class HuntEndApi:
    """The ends of hunts."""

    def __init__(self) -> None:
        """Start with no hunt in memory."""
        self._lock = threading.Lock()
        self._replayed: tuple[tuple[str, tuple[int, int, int]], LiveHunt] | None = None

    def end(self, identity: str) -> dict[str, Any]:
        """Return the end of a hunt. Raises: NotFoundError before its end; UserError, NoVoice."""
        with open_record() as store:
            stored = _stored(store, identity)
            result = self._result(store, stored)
        return hunt_end_json(identity, stored, result)

    def overs(self, identity: str, contact: int) -> dict[str, Any]:
        """Return the overs of a contact. Raises: NotFoundError, UserError, NoVoice."""
        with open_record() as store:
            stored = _stored(store, identity)
            result = _with_contact(self._result(store, stored), contact)
            overs: tuple[HuntOver, ...] = ()
            stop = contact_stop(result, contact)
            if stop is not None:
                live = self._replayed_hunt(store, stored, stop)
                overs = hunt_contact_overs(live, result, contact)
        base = f"/api/hunts/{identity}/contacts/{contact}/overs"
        return {
            "what": verdict_text(result.contacts[contact]),
            "overs": [_over_json(over, f"{base}/{n}") for n, over in enumerate(overs)],
        }

    def over_sound(self, identity: str, contact: int, index: int, variant: str) -> bytes:
        """Return an over as a WAV file; variant: "noise" (as it was) or "clean".

        Raises: NotFoundError, UserError, NoVoice.
        """
        with open_record() as store:
            stored = _stored(store, identity)
            result = _with_contact(self._result(store, stored), contact)
            stop = contact_stop(result, contact)
            if stop is None:
                raise NotFoundError(f"contact {contact + 1} has no overs")
            live = self._replayed_hunt(store, stored, stop)
            overs = overs_on_air(live, result, contact)
            if not 0 <= index < len(overs):
                raise NotFoundError(f"this contact has no over {index + 1}")
            if variant == "clean":
                return _wav(render_speech(live, stop[0], overs[index], VoiceSpeech()))
            events = store.hunt_events(identity)
        margin = round(MARGIN_S * AUDIO_RATE_HZ)
        start, end = max(0, overs[index].start - margin), overs[index].end + margin
        return _wav(render_again(live.setup, events, start, end, VoiceSpeech()))

    def _result(self, store: Store, stored: StoredHunt) -> HuntResult:
        """Return the recorded result, or compute and record it."""
        result = _recorded(stored)
        if result is not None:
            return result
        with self._lock:
            session = HuntSession.load(store, stored.id, speech=VoiceSpeech())
            if not session.live.ended:
                raise NotFoundError("this hunt has not ended yet")
            return session.result()

    def _replayed_hunt(
        self, store: Store, stored: StoredHunt, stop: tuple[int, int, int]
    ) -> LiveHunt:
        """Return the hunt at the end of a stop, replayed unless it is in memory."""
        key = (stored.id, stop)
        with self._lock:
            if self._replayed is None or self._replayed[0] != key:
                setup, events = recorded_hunt_setup(stored), store.hunt_events(stored.id)
                self._replayed = key, replay_contact(setup, events, stop, VoiceSpeech())
            return self._replayed[1]


def _wav(clip: Clip | None) -> bytes:
    if clip is None:
        raise NotFoundError("the sound of an over by microphone is not stored")
    return wav_bytes(clip)


def _stored(store: Store, identity: str) -> StoredHunt:
    stored = next(store.hunts(identity=identity), None)
    if stored is None:
        raise NotFoundError(f"there is no hunt {shown(identity)}")
    return stored


def _recorded(stored: StoredHunt) -> HuntResult | None:
    """Return the recorded result, None if there is none that this version can read."""
    try:
        return None if stored.result is None else from_data(HuntResult, stored.result)
    except UserError:
        return None


def _with_contact(result: HuntResult, contact: int) -> HuntResult:
    """Return the result if it has this contact. Raises: NotFoundError."""
    if not 0 <= contact < len(result.contacts):
        raise NotFoundError(f"this hunt has no contact {contact + 1}")
    return result


def hunt_end_json(identity: str, stored: StoredHunt, result: HuntResult) -> dict[str, Any]:
    """Return the end of a hunt as the page shows it."""
    figure, after = heading_parts(result)
    dear = ADVISED_PHASES.get(result.advice[0].kind, "") if result.advice else ""
    tables = {
        "contacts": contacts_table(result),
        "stops": stops_table(result),
        "quarters": quarters_table(result),
        "times": times_table(result),
    }
    return {
        "id": identity,
        "started": stored.started,
        "figure": figure,
        "after": after,
        "lead": lead_sentence(result),
        "lamps": [contact.is_right for contact in result.contacts],
        "lost": [
            {
                "contact": index,
                "call": contact.logs.my_call or contact.logs.given_call,
                "what": verdict_text(contact),
            }
            for index, contact in enumerate(result.contacts)
            if contact.is_lost and contact_stop(result, index) is not None
        ],
        "advice": [
            dict(zip(("sentence", "figures"), advice_texts(result, advice), strict=True))
            for advice in result.advice
        ],
        "no_advice": no_advice_sentence(result),
        "times": [
            {
                "name": HUNT_PHASE_NAMES[name],
                "seconds": seconds,
                "kind": "dear" if name == dear else "earns" if name == EARNS else "",
            }
            for name, seconds in zip(HUNT_PHASES, result.times_s, strict=True)
        ],
        "dial": asdict(dial_picture(result)),
        "sentences": list(explaining_sentences(result)),
        "tables": {name: asdict(table) for name, table in tables.items()},
    }


def _over_json(over: HuntOver, base: str) -> dict[str, Any]:
    return {
        "at": clock(over.start / AUDIO_RATE_HZ),
        "who": SPEAKER_NAMES[over.who],
        "text": over.text,
        "heard": over.heard,
        "noise": "" if over.who == "you" else f"{base}/noise.wav",
        "clean": f"{base}/clean.wav" if over.text else "",
    }
