"""The messages of a hunt's WebSocket.

The page sends JSON: {"type": "played", "to": N} with the number of samples that its audio output
has played since the socket opened, and {"type": "act", "kind": ..., "text": ..., "hz": ...,
"line": ...}. The server sends sound as binary messages, and JSON: "state" (the changed state),
"clock" (whether time passes), "refused" (for a wrong message) and "ended".
"""

import struct
from collections.abc import Mapping
from dataclasses import dataclass
from functools import partial
from typing import Any

import numpy as np

from drill.contact.acts import VOICE
from drill.core.validation import (
    checked_entries,
    checked_integer,
    checked_number,
    checked_table,
    integer_within,
    json_value,
    one_of,
)
from drill.hunt.acts import HUNT_ACT_KINDS
from drill.hunt.stream import SoundBlock
from drill.web.request_fields import short_text

HEADER = struct.Struct("<ddfI")
"""Time of the first sample, dial in Hz, level over the noise in dB, flags; then 16-bit samples,
little-endian."""
SENDING_FLAG = 1
ACT, PLAYED = "act", "played"
SOCKET_ACT_KINDS = tuple(kind for kind in HUNT_ACT_KINDS if kind != VOICE)
"""Without VOICE: an over by microphone comes as a file, by POST."""
MOST_LINES = 10_000


@dataclass(frozen=True, kw_only=True, slots=True)
class PlayedMessage:
    """The page has played `to` samples since the socket opened."""

    to: int


@dataclass(frozen=True, kw_only=True, slots=True)
class ActMessage:
    """The trainee acts. The fields are those of drill.hunt.acts.HuntAct."""

    kind: str
    text: str = ""
    hz: float | None = None
    line: int | None = None


def page_message(text: str) -> PlayedMessage | ActMessage:
    """Return a message of the page. Raises: UserError for anything else."""
    data = dict(checked_table("", json_value(text), label="the message"))
    kind = one_of("type", data.pop("type", None), (ACT, PLAYED), label="message")
    if kind == PLAYED:
        return PlayedMessage(**checked_entries(data, {"to": checked_integer}, required=["to"]))
    return ActMessage(**checked_entries(data, _ACT_CHECKS, required=["kind"]))


def _checked_kind(name: str, value: Any) -> str:
    return one_of(name, value, SOCKET_ACT_KINDS, label="act")


_ACT_CHECKS: Mapping[str, Any] = {
    "kind": _checked_kind,
    "text": short_text,
    "hz": checked_number,
    "line": partial(integer_within, low=1, high=MOST_LINES),
}


def sound_message(block: SoundBlock) -> bytes:
    """Return a block of sound as the page reads it."""
    steps = np.round(np.clip(block.samples, -1, 1) * 32767).astype("<i2")
    flags = SENDING_FLAG if block.sends else 0
    return HEADER.pack(block.at, block.dial_hz, block.level_db, flags) + steps.tobytes()
