"""What each address accepts in a request's body: content types and size.

An HTML form of another site can send none of these types, so its script would first need the
server's permission (CORS preflight), which is refused.
"""

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class BodyRule:
    """What an address accepts: in words, its content types, and its size."""

    label: str
    content_types: tuple[str, ...]
    max_bytes: int


MAX_JSON_BYTES = 64 * 1024
JSON_RULE = BodyRule(label="JSON", content_types=("application/json",), max_bytes=MAX_JSON_BYTES)
TAKES_PATH, VOICE_PATH = "/api/speak/takes", "/api/contacts/voice"
HUNT_VOICE_PATH = "/api/hunts/voice"
AUDIO_RULE = BodyRule(
    label="audio", content_types=("audio/wav", "audio/flac"), max_bytes=6 * 1024 * 1024
)
IMPORT_PATH = "/api/import"
RECORD_TYPES = {"text/csv": "csv", "application/jsonl": "jsonl"}
"""Content types of exported records, and the names of their formats."""
RECORD_RULE = BodyRule(
    label="an exported record",
    content_types=tuple(RECORD_TYPES),
    max_bytes=128 * 1024 * 1024,
)
ROOM_PATH, WORD_PATH = "/api/word-banks/room", "/api/word-banks/words"
MIXES_PATH, ADD_SET_PATH = "/api/mixes", "/api/sets/add"
LOG_RULE = BodyRule(
    label="a contest log",
    content_types=("application/octet-stream",),
    max_bytes=64 * 1024 * 1024,
)
ZIP_TYPE, LINES_TYPE = "application/zip", "application/jsonl"
SET_RULE = BodyRule(
    label="a set of items", content_types=(ZIP_TYPE, LINES_TYPE), max_bytes=512 * 1024 * 1024
)
_BODY_RULES = {
    TAKES_PATH: AUDIO_RULE,
    VOICE_PATH: AUDIO_RULE,
    HUNT_VOICE_PATH: AUDIO_RULE,
    ROOM_PATH: AUDIO_RULE,
    WORD_PATH: AUDIO_RULE,
    IMPORT_PATH: RECORD_RULE,
    MIXES_PATH: LOG_RULE,
    ADD_SET_PATH: SET_RULE,
}
"""Addresses that accept something other than JSON."""


def body_rule(path: str) -> BodyRule:
    """Return what an address accepts: JSON, unless it is listed otherwise."""
    return _BODY_RULES.get(path, JSON_RULE)
