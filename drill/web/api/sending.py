"""The sending drill for the page: prompts, takes and the far end. No take reaches the disk."""

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
from drill.core.errors import UserError
from drill.core.models import Clip
from drill.core.paths import data_folder
from drill.radio.presets import load_preset
from drill.sending.far import far_ends
from drill.sending.history import held_against, remembered
from drill.sending.models import Prompt, Review, Take
from drill.sending.own_station import at, known, own_station
from drill.sending.prompts import KINDS, choose, prompt
from drill.sending.review import review
from drill.sending.sound_quality import LONGEST_S
from drill.session import catalogue
from drill.session.options import PATH_SNR_DB
from drill.web import request_fields
from drill.web.api.reviews import far_json, prompt_json, review_json
from drill.web.audio_cache import AudioCache
from drill.web.database import NotFoundError, open_record

MOST_TAKES = 4
SEEDS = 1_000_000


class NotOwn(UserError):
    """A call that is none; the page shows it beside the field."""

    field = "own-call"


@dataclass(frozen=True, kw_only=True, eq=False)
class _Reviewed:
    asked: Prompt
    clip: Clip
    review: Review


class Speaking:
    """The takes that this server has at hand for the far end: the newest few, in memory alone."""

    def __init__(self, sounds: AudioCache) -> None:
        """Begin with none; sounds: where what is made to be heard is kept."""
        self._sounds = sounds
        self._takes: OrderedDict[str, _Reviewed] = OrderedDict()
        self._one = threading.Lock()

    def known(self) -> dict[str, Any]:
        """Return the own call (null for none yet), the exchange, and what can be chosen."""
        with open_record() as store:
            call, exchange = known(store)
        return {
            "call": call,
            "exchange": exchange,
            "exchanges": catalogue.exchanges(),
            "kinds": catalogue.entries({name: what for name, (what, _) in KINDS.items()}),
            "conditions": catalogue.conditions(),
            "path_snr_db": PATH_SNR_DB,
        }

    def settle(self, data: Mapping[str, Any]) -> dict[str, Any]:
        """Keep the own call and the exchange; return both. Raises: UserError."""
        found = request_fields.take(
            data, {"call": request_fields.text, "exchange": request_fields.text}
        )
        request_fields.needed(found, "call")
        if not found["call"].strip():
            raise NotOwn("your call is empty; give it once, such as E87ABC")
        with open_record() as store:
            try:
                own_station(store, found["call"], found.get("exchange"), exchanges())
            except UserError as error:
                if "own call" in str(error):
                    raise NotOwn(str(error)) from None
                raise
            call, exchange = known(store)
        return {"call": call, "exchange": exchange}

    def ask(self, data: Mapping[str, Any]) -> dict[str, Any]:
        """Return what is to be said, of a kind or drawn, for a seed or a new one.

        Raises: UserError, also where the own call is not known yet.
        """
        found = request_fields.take(
            data, {"kind": request_fields.text, "seed": request_fields.whole}
        )
        seed = found.get("seed", secrets.randbelow(SEEDS))
        with open_record() as store:
            call, exchange = known(store)
            if call is None:
                raise NotOwn("your own call is not known yet; give it once, such as E87ABC")
            own = at(call, exchange, exchanges())
            kind = found.get("kind")
            asked = (
                choose(own, seed, remembered(store)) if kind is None else prompt(kind, own, seed)
            )
        return {**prompt_json(asked), "call": call, "exchange": exchange}

    def take(self, query: Mapping[str, str], data: bytes) -> dict[str, Any]:
        """Review the bytes of a sound file, keep the review, return it.

        query: the prompt that is answered, by kind, seed, call and exchange.
        Raises: UserError, NoRecogniser, RecordBusy.
        """
        asked = _asked(query)
        clip = audio_files.read_bytes(data, longest_s=LONGEST_S)
        with self._one:  # the work fills a processor
            found = review(Take(prompt=asked, clip=clip))
        with open_record() as store:
            before = held_against(store, asked, found)
            now = datetime.now(UTC)
            store.add_take(asked.to_dict(), found.to_dict(), now=now, version=__version__)
        name = secrets.token_urlsafe(12)
        with self._one:
            self._takes[name] = _Reviewed(asked=asked, clip=clip, review=found)
            while len(self._takes) > MOST_TAKES:
                self._takes.popitem(last=False)
        return {"take": name, **review_json(found, before)}

    def far(self, data: Mapping[str, Any]) -> dict[str, Any]:
        """Return a take as it sounds at the far end. Raises: UserError, NotFoundError, NoVoice."""
        known_ = {
            "take": request_fields.text,
            "conditions": request_fields.text,
            "path_snr_db": request_fields.number,
        }
        found = request_fields.take(data, known_)
        request_fields.needed(found, "take")
        with self._one:
            one = self._takes.get(found["take"])
            if one is None:
                raise NotFoundError("this take is not kept any more; say it once more")
            named = found.get("conditions", "plain")
            ends = far_ends(
                one.clip,
                one.asked,
                load_preset(named, data_folder() / "conditions").conditions,
                path_snr_db=found.get("path_snr_db", PATH_SNR_DB),
                seed=one.asked.seed,
            )
        return far_json(ends, one.review, self._sounds.keep)


def exchanges() -> Path:
    """Return the folder of the user's own exchanges."""
    return data_folder() / "exchanges"


def _asked(query: Mapping[str, str]) -> Prompt:
    """Return the prompt that a query names. Raises: UserError."""
    readers = dict.fromkeys(("kind", "seed", "call", "exchange"), request_fields.text)
    found = request_fields.take(query, readers)
    request_fields.needed(found, *readers)
    seed = found["seed"]
    if not (seed.isascii() and seed.isdigit() and len(seed) <= 18):
        raise UserError(
            f"seed {request_fields.short(seed)} is no whole number of at most 18 digits"
        )
    return prompt(found["kind"], at(found["call"], found["exchange"], exchanges()), int(seed))
