"""The JSON of a running hunt."""

from dataclasses import asdict
from typing import Any

from drill.hunt.snapshot import HuntSnapshot
from drill.radio import AUDIO_RATE_HZ

SHOWN_LINE_FIELDS = ("number", "at", "hz", "call", "given", "got")


def hunt_state_json(snapshot: HuntSnapshot) -> dict[str, Any]:
    """Return the state of a running hunt that the page shows."""
    entry, sending = snapshot.entry, snapshot.sending
    lines = [asdict(line) for line in snapshot.lines]
    return {
        "rate_hz": AUDIO_RATE_HZ,
        "ends_at": snapshot.ends_at,
        "dial_hz": snapshot.dial_hz,
        "bands": [{"low_hz": low, "high_hz": high} for low, high in snapshot.bands],
        "marks": [{"hz": hz, "text": text} for hz, text in snapshot.marks],
        "pad": [{name: line[name] for name in SHOWN_LINE_FIELDS} for line in lines],
        "notes": list(snapshot.notes),
        "entry": {"call": entry.call, "exchange": entry.exchange, "complete": entry.is_complete},
        "said": list(snapshot.said),
        "sending": None if sending is None else {"until": sending[0], "text": sending[1]},
        "sayings": snapshot.sayings,
        "ended": snapshot.ended,
    }
