"""The JSON of contacts: one in progress, its end, and a session of them."""

from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

from drill.contact.acts import SAYINGS
from drill.contact.debrief import ADVICE_PHASES, PHASES, ContactResult
from drill.contact.events import LiveEvent, SendingStarts
from drill.contact.overs import TRAINEE
from drill.contact.review import said_overs
from drill.contact.score import contact_score
from drill.contact.sessions import ContactSession
from drill.contact.slips import slip_rows
from drill.contact.wording import (
    PHASE_NAMES,
    SPEAKER_NAMES,
    advice_sentence,
    clock,
    fault_sentences,
    heading,
    path_sentence,
    session_block,
    time_heading,
    truth_sentence,
)
from drill.radio import AUDIO_RATE_HZ
from phonetics.callsign_mixes import FICTION_NOTICE

MODEL_NOTE = " A model decided what the stations copied, not a recogniser."


def session_json(session: ContactSession) -> dict[str, Any]:
    """Return a session: its set-up, the ends of its contacts, and its figures."""
    setup = session.setup
    block = session_block(session.results) if session.results else None
    table = None if block is None else block.table
    return {
        "id": session.identity,
        "count": setup.count,
        "finished": session.is_finished,
        "rate_hz": AUDIO_RATE_HZ,
        "own_call": setup.own_call,
        "sentence": (
            f"As {setup.own_call}, spoken by {setup.voice}: "
            f"{setup.plan.conditions.sentence_without_snr}, seed {setup.plan.seed}. "
            f"Calls are {FICTION_NOTICE}.{MODEL_NOTE if setup.ears == 'model' else ''}"
        ),
        "contacts": [
            {"heading": heading(result), "right": result.logs.is_right, "watts": result.watts}
            for result in session.results
        ],
        "result": None
        if block is None
        else {"sentences": list(block.sentences), "table": table and asdict(table)},
    }


def live_json(session: ContactSession, events: Sequence[LiveEvent] = ()) -> dict[str, Any]:
    """Return the current contact, without the words that were heard so far."""
    contact = session.contact
    entry = contact.entry
    sending = [o for o in contact.frequency.trace if o.speaker == TRAINEE and o.end > contact.now]
    return {
        "contact": session.number,
        "watts": session.setup.slot(session.number).watts,
        "acts": len(contact.acts),
        "now": contact.now,
        "next_at": contact.next_at,
        "sending_until": sending[-1].end if contact.is_sending and sending else None,
        "starts_sending": any(isinstance(event, SendingStarts) for event in events),
        "score": [asdict(item) for item in contact_score(contact)],
        "entry": {"call": entry.call, "exchange": entry.exchange, "complete": entry.is_complete},
        "sayings": {kind: contact.saying(kind).text for kind in SAYINGS},
        "ended": contact.ended,
    }


def ending_json(session: ContactSession) -> dict[str, Any]:
    """Return the end of a session's current contact: both logs, the advice, and every over."""
    number = session.number
    result: ContactResult = session.results[number]
    advice = advice_sentence(result.advice)
    others = fault_sentences(result.logs)[1:]
    base = f"/api/contacts/{session.identity}/stations/{number}"
    return {
        "heading": heading(result),
        "right": result.logs.is_right,
        "told": " ".join([*others, *([advice] if advice else [])]),
        "slips": [asdict(row) for row in slip_rows(result.logs)],
        "truth": "" if result.logs.is_right else truth_sentence(result.logs),
        "time": time_heading(result),
        "spent": [
            {
                "name": PHASE_NAMES[name],
                "seconds": round(seconds, 1),
                "dear": result.advice is not None and ADVICE_PHASES[result.advice.kind] == name,
            }
            for name, seconds in zip(PHASES, result.times_s, strict=True)
        ],
        "path": path_sentence(result),
        "again": f"{base}/again.wav",
        "overs": [
            {
                "at": clock(over.at_s),
                "seconds": over.seconds,
                "who": SPEAKER_NAMES[over.who],
                "text": over.text,
                "parts": [asdict(part) for part in over.parts],
                "heard": over.heard,
                "audible": over.audible,
                "noise": f"{base}/overs/{index}/noise.wav",
                "clean": f"{base}/overs/{index}/clean.wav",
            }
            for index, over in enumerate(said_overs(session.contact))
        ],
    }
