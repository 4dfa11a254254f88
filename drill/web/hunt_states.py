"""The JSON of a running hunt."""

from dataclasses import asdict
from typing import Any

from drill.contact.acts import LEAVE, LOG, SAYINGS
from drill.hunt.acts import TUNE
from drill.hunt.live import LiveHunt
from drill.radio import AUDIO_RATE_HZ

SHOWN_LINE_FIELDS = ("number", "at", "hz", "call", "given", "got")


def hunt_state_json(live: LiveHunt) -> dict[str, Any]:
    """Return what the page shows of a running hunt; nothing that was only heard."""
    entry, sending = live.pad.entry, live.sending[-1:]
    lines = [asdict(line) for line in live.pad.lines]
    return {
        "rate_hz": AUDIO_RATE_HZ,
        "ends_at": live.ends_at,
        "dial_hz": live.dial_hz,
        "bands": [{"low_hz": band.lower_hz, "high_hz": band.upper_hz} for band in live.bands],
        "marks": [{"hz": hz, "text": text} for hz, text in live.marks],
        "pad": [{name: line[name] for name in SHOWN_LINE_FIELDS} for line in lines],
        "notes": list(live.pad.notes),
        "entry": {"call": entry.call, "exchange": entry.exchange, "complete": entry.is_complete},
        "said": _said_here(live),
        "sending": {"until": sending[0][1], "text": live.own.overs[-1].over.text}
        if sending and sending[0][1] > live.now
        else None,
        "sayings": {kind: live.saying(kind).text for kind in SAYINGS},
        "ended": live.ended,
    }


def _said_here(live: LiveHunt) -> list[str]:
    """Return the kinds of overs that the trainee has sent since tuning, logging or leaving."""
    said: list[str] = []
    for act in reversed(live.acts):
        if act.kind in (TUNE, LOG, LEAVE):
            break
        if act.kind in SAYINGS:
            said.insert(0, act.kind)
    return said
