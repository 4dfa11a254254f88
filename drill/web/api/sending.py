"""/api/speak: sending prompts, takes and the far end.

A take's audio stays in memory and is never written to disk; its review is stored in the record.
"""

import secrets
import threading
from collections import OrderedDict
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from drill import __version__
from drill.core import audio_files
from drill.core.conditions import Conditions
from drill.core.errors import UserError
from drill.core.models import Clip
from drill.core.paths import data_folder
from drill.core.structuring import to_data
from drill.core.text_blocks import Passage
from drill.core.validation import checked_entries, checked_integer, checked_number, shown
from drill.radio.presets import load_preset
from drill.recogniser import OWN_RECOGNISER, Recogniser, find_recogniser
from drill.sending.describe_copies import copies_passage
from drill.sending.enrolled_voices import take_recogniser
from drill.sending.far_copies import copy_far_ends
from drill.sending.far_end import simulate_far_ends
from drill.sending.history import previous_review, recent_reviews
from drill.sending.models import Prompt, Review, Take
from drill.sending.own_station import (
    load_own_station,
    stored_own_station,
    update_own_station,
)
from drill.sending.prompts import PROMPT_KINDS, choose_prompt, compose_prompt
from drill.sending.review import review_take
from drill.sending.sound_quality import MAX_TAKE_S
from drill.sending.voice_doubt import check_recent_takes, describe_voice_doubt
from drill.session import catalogue
from drill.session.options import DEFAULT_PATH_SNR_DB
from drill.web.api.reviews import far_json, prompt_json, review_json
from drill.web.audio_cache import AudioCache
from drill.web.database import NotFoundError, open_record
from drill.web.request_fields import short_text

MAX_TAKES = 4
"""Takes kept in memory for the far end."""
SEED_COUNT = 1_000_000


@dataclass(frozen=True, kw_only=True, eq=False)
class _StoredTake:
    prompt: Prompt
    clip: Clip
    review: Review
    recogniser: Recogniser


class SendingApi:
    """Answers /api/speak; keeps the newest MAX_TAKES takes in memory for the far end."""

    def __init__(self, sounds: AudioCache) -> None:
        """Start without takes. sounds: cache for the sounds of the far end."""
        self._sounds = sounds
        self._takes: OrderedDict[str, _StoredTake] = OrderedDict()
        # Reviewing and rendering each keep a processor busy; two at the same time would both be
        # slow.
        self._lock = threading.Lock()

    def options_json(self) -> dict[str, Any]:
        """Return the user's call (null if not set) and exchange, and all choices."""
        with open_record() as store:
            call, exchange = stored_own_station(store)
        return {
            "call": call,
            "exchange": exchange,
            "exchanges": catalogue.exchange_entries(),
            "kinds": catalogue.catalogue_entries(
                {name: kind.description for name, kind in PROMPT_KINDS.items()}
            ),
            "conditions": catalogue.condition_entries(),
            "path_snr_db": DEFAULT_PATH_SNR_DB,
        }

    def save_own_station(self, data: Mapping[str, Any]) -> dict[str, Any]:
        """Store the user's call and exchange; return both. Raises: UserError."""
        entries = checked_entries(
            data, {"call": short_text, "exchange": short_text}, required=["call"]
        )
        if not entries["call"].strip():
            raise UserError("your call is empty; enter it, such as E87ABC", field="call")
        with open_record() as store:
            update_own_station(store, entries["call"], entries.get("exchange"), exchange_folder())
            call, exchange = stored_own_station(store)
        return {"call": call, "exchange": exchange}

    def new_prompt(self, data: Mapping[str, Any]) -> dict[str, Any]:
        """Return a prompt for data's kind and seed; both are drawn if left out.

        Kinds that went badly before are drawn more often. Raises: UserError, with field "call" if
        the user's call is not set.
        """
        entries = checked_entries(data, {"kind": short_text, "seed": checked_integer})
        seed = entries.get("seed", secrets.randbelow(SEED_COUNT))
        kind = entries.get("kind")
        with open_record() as store:
            call, exchange = stored_own_station(store)
            if call is None:
                raise UserError(
                    "your own call is not set; enter it once, such as E87ABC",
                    field="call",
                    kind="missing",
                )
            station = load_own_station(call, exchange, exchange_folder())
            if kind is None:
                new_prompt = choose_prompt(station, seed, recent_reviews(store))
            else:
                new_prompt = compose_prompt(kind, station, seed)
        return {**prompt_json(new_prompt), "call": call, "exchange": exchange}

    def review_take(self, query: Mapping[str, str], data: bytes) -> dict[str, Any]:
        """Review a sound file, store the review in the record and return it.

        query: names the prompt by kind, seed, call and exchange. data: a WAV or FLAC file.
        Raises: UserError, NoRecogniser, RecordUnavailable.
        """
        answered = _prompt_from_query(query)
        clip = audio_files.read_audio_bytes(data, longest_s=MAX_TAKE_S)
        with open_record() as store:
            recogniser = take_recogniser(store)
        with self._lock:
            result = review_take(Take(prompt=answered, clip=clip), recogniser)
        with open_record() as store:
            previous = previous_review(store, answered, result)
            store.add_take(
                to_data(answered), to_data(result), now=datetime.now(UTC), version=__version__
            )
            doubt = describe_voice_doubt(check_recent_takes(store, result))
        name = secrets.token_urlsafe(12)
        with self._lock:
            self._takes[name] = _StoredTake(
                prompt=answered, clip=clip, review=result, recogniser=recogniser
            )
            while len(self._takes) > MAX_TAKES:
                self._takes.popitem(last=False)
        return {"take": name, **review_json(result, previous, doubt)}

    def far_end(self, data: Mapping[str, Any]) -> dict[str, Any]:
        """Return a take as it sounds at the far end at several powers.

        Raises: UserError, NoVoice; NotFoundError for a take that is no longer in memory.
        """
        entries = checked_entries(
            data,
            {"take": short_text, "conditions": short_text, "path_snr_db": checked_number},
            required=["take"],
        )
        with self._lock:
            take = self._takes.get(entries["take"])
            if take is None:
                raise NotFoundError("this take is no longer in memory; record it again")
            preset = load_preset(entries.get("conditions", "plain"), data_folder() / "conditions")
            path_snr_db = entries.get("path_snr_db", DEFAULT_PATH_SNR_DB)
            ends = simulate_far_ends(
                take.clip,
                take.prompt,
                preset.conditions,
                path_snr_db=path_snr_db,
                seed=take.prompt.seed,
            )
            copies = None
            if take.review.right:
                copies = _copies_passage(take, preset.conditions, path_snr_db)
        return far_json(ends, take.review, copies, self._sounds.add)


def _copies_passage(take: _StoredTake, conditions: Conditions, path_snr_db: float) -> Passage:
    """Return what the recogniser copies of a take at the far end.

    Raises: NoRecogniser; NoVoice; UserError if the exchange is gone.
    """
    prompt = take.prompt
    exchange = None
    if prompt.exchange:
        exchange = load_own_station(prompt.call, prompt.exchange, exchange_folder()).exchange
    copies = copy_far_ends(
        take.clip,
        prompt,
        exchange,
        conditions,
        take.recogniser,
        reference_recogniser=find_recogniser(OWN_RECOGNISER),
        path_snr_db=path_snr_db,
        seed=prompt.seed,
    )
    return copies_passage(copies, prompt)


def exchange_folder() -> Path:
    """Return the folder of the user's own exchanges."""
    return data_folder() / "exchanges"


def _prompt_from_query(query: Mapping[str, str]) -> Prompt:
    """Return the prompt that a query names. Raises: UserError."""
    names = ("kind", "seed", "call", "exchange")
    entries = checked_entries(query, dict.fromkeys(names, short_text), required=names)
    seed = entries["seed"]
    if not (seed.isascii() and seed.isdigit() and len(seed) <= 18):
        raise UserError(
            f"seed {shown(seed)} has to be a whole number of at most 18 digits", field="seed"
        )
    station = load_own_station(entries["call"], entries["exchange"], exchange_folder())
    return compose_prompt(entries["kind"], station, int(seed))
