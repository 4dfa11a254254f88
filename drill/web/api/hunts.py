"""/api/hunts: the form of a hunt, new hunts, and overs by microphone.

The hunt itself runs over a WebSocket; see drill.web.hunt_socket.
"""

from collections.abc import Mapping
from datetime import UTC, datetime
from typing import Any

from drill.contact.machine_ears import has_far_recogniser
from drill.contact.setup import (
    DEFAULT_CONDITIONS,
    OFFERED_CALL,
    default_own_voice,
    own_call_or_offered,
)
from drill.core import audio_files
from drill.core.errors import UserError
from drill.core.validation import checked_entries, checked_number, shown
from drill.hunt.sessions import HuntSession, recorded_hunt_setup
from drill.hunt.setup import (
    DEFAULT_BAND,
    DEFAULT_MINUTES,
    HuntOptions,
    HuntSetup,
    create_hunt_setup,
)
from drill.hunt.values import band_kinds, find_band_kind
from drill.hunt.worker_speech import shared_worker_speech
from drill.records.hunts import StoredHunt
from drill.sending.own_station import load_own_station, stored_own_station, update_own_station
from drill.voices.operators import find_operator
from drill.web.api.sending import exchange_folder
from drill.web.database import NotFoundError, open_record
from drill.web.hunt_feeds import HuntFeeds
from drill.web.request_fields import session_options, short_list, short_text
from phonetics.callsign_mixes import FICTION_NOTICE

MAX_LISTED_HUNTS = 8
LONGEST_OVER_S = 30.0


class HuntApi:
    """The hunts of this server. feeds: the running ones."""

    def __init__(self, feeds: HuntFeeds) -> None:
        """Use these feeds, which the WebSocket starts."""
        self._feeds = feeds

    def options(self) -> dict[str, Any]:
        """Return the form's data beyond /api/choices, and the newest hunts.

        The voices start meanwhile. Raises: NoVoice.
        """
        voice = default_own_voice()
        shared_worker_speech().warm_up(find_operator(voice))
        with open_record() as store:
            call, exchange = stored_own_station(store)
            listed = [hunt_json(stored) for stored in store.hunts(MAX_LISTED_HUNTS)]
        return {
            "call": call,
            "exchange": exchange,
            "offered_call": OFFERED_CALL,
            "voice": voice,
            "conditions": DEFAULT_CONDITIONS,
            "minutes": DEFAULT_MINUTES,
            "bands": [
                {"name": name, "says": find_band_kind(name).sentence} for name in band_kinds()
            ],
            "band": DEFAULT_BAND,
            "microphone": has_far_recogniser(),
            "hunts": listed,
        }

    def begin(self, data: Mapping[str, Any]) -> dict[str, Any]:
        """Record a new hunt and return it; its clock starts with the socket.

        data: "call", "voice", "minutes", "bands", "weekend", and the fields of SessionOptions that
        hunts take. The call is stored as the user's own unless it is OFFERED_CALL.
        Raises: UserError, NoVoice.
        """
        own = {name: data[name] for name in _OWN_CHECKS if data.get(name) is not None}
        entries = checked_entries(own, _OWN_CHECKS)
        form = {name: value for name, value in data.items() if name not in _OWN_CHECKS}
        call = own_call_or_offered(entries.pop("call", ""))
        setup = create_hunt_setup(
            session_options({"conditions": DEFAULT_CONDITIONS, **form}),
            HuntOptions(call=call, **entries),
        )
        load_own_station(setup.own_call, setup.plan.exchange, exchange_folder())
        with open_record() as store:
            if call != OFFERED_CALL:
                update_own_station(store, call, setup.plan.exchange, exchange_folder())
            session = HuntSession.begin(setup, store, now=datetime.now(UTC))
            return hunt_json(next(store.hunts(identity=session.identity)))

    def hunt(self, identity: str) -> dict[str, Any]:
        """Return a recorded hunt. Raises: NotFoundError."""
        with open_record() as store:
            stored = next(store.hunts(identity=identity), None)
        if stored is None:
            raise NotFoundError(f"there is no hunt {shown(identity)}")
        return hunt_json(stored)

    def speak(self, query: Mapping[str, str], body: bytes) -> dict[str, Any]:
        """Send an over by microphone in a running hunt.

        query: "session". body: a WAV or FLAC file. Raises: NotFoundError, UserError.
        """
        texts = checked_entries(query, {"session": short_text}, required=["session"])
        clip = audio_files.read_audio_bytes(body, longest_s=LONGEST_OVER_S)
        if not clip.samples.any():
            raise UserError("no speech was heard, so nothing was sent")
        self._feeds.running(texts["session"]).speak(clip)
        return {"seconds": clip.seconds}


def hunt_json(stored: StoredHunt) -> dict[str, Any]:
    """Return a hunt of the record as JSON: its start, its set-up, and whether it has ended."""
    setup = recorded_hunt_setup(stored)
    return {
        "id": stored.id,
        "started": stored.started,
        "finished": stored.result is not None,
        "minutes": setup.minutes,
        "bands": [kind.name for kind in setup.bands],
        "watts": setup.watts,
        "own_call": setup.own_call,
        "sentence": setup_sentence(setup),
    }


def setup_sentence(setup: HuntSetup) -> str:
    """Return the set-up of a hunt in one sentence, with the notice that calls are fictional."""
    bands = ", then ".join(kind.sentence for kind in setup.bands)
    return (
        f"{setup.minutes:g} minutes as {setup.own_call} with {setup.watts:g} W, spoken by "
        f"{setup.voice}, seed {setup.plan.seed}. {bands} Calls are {FICTION_NOTICE}."
    )


_OWN_CHECKS: Mapping[str, Any] = {
    "call": short_text,
    "voice": short_text,
    "minutes": checked_number,
    "bands": short_list,
    "weekend": checked_number,
}
"""Fields of a new hunt besides those of every session."""
