"""/api/history: past sessions, and the answers of one of them."""

from collections.abc import Sequence
from typing import Any

from drill.core.errors import FaintcallError, UserError
from drill.core.models import Attempt, FieldScore
from drill.core.validation import shown
from drill.items.plan import conditions_from_plan_data
from drill.records.sessions import SessionRecord
from drill.records.store import Store
from drill.session.kinds import find_kind
from drill.session.recorded import has_fixed_snr, open_kind
from drill.session.wording import conditions_label
from drill.web.api.states import kind_json
from drill.web.database import NotFoundError, open_record

DEFAULT_ROWS = 50
MAX_ROWS = 1000


def history_json(limit: str | None) -> dict[str, Any]:
    """Return past sessions, newest first; limit: largest number of sessions, None for DEFAULT_ROWS.

    Raises: UserError if the limit is not a whole number from 1 to MAX_ROWS.
    """
    count = DEFAULT_ROWS
    if limit is not None:
        if not limit.isascii() or not limit.isdigit() or not 1 <= int(limit[:9]) <= MAX_ROWS:
            raise UserError(
                f"limit {limit[:20]!r} is out of range; give 1 to {MAX_ROWS}", field="limit"
            )
        count = int(limit)
    with open_record() as store:
        return {"sessions": [session_row(record, store) for record in store.sessions(count)]}


def session_answers_json(identity: str) -> dict[str, Any]:
    """Return a session and its answers; no answers while its result is withheld.

    Raises: NotFoundError.
    """
    with open_record() as store:
        record = store.session(identity)
        if record is None:
            raise NotFoundError(f"there is no session {shown(identity)}")
        row = session_row(record, store)
        withheld = row["right"] is None
        answers = [] if withheld else answers_json(store.attempts(identity))
        return {"session": row, "answers": answers, "withheld": withheld}


def delete_session(identity: str) -> dict[str, Any]:
    """Delete a session with its answers. Raises: NotFoundError."""
    with open_record() as store:
        if not store.delete_session(identity):
            raise NotFoundError(f"there is no session {shown(identity)}")
    return {"deleted": identity}


def session_row(record: SessionRecord, store: Store) -> dict[str, Any]:
    """Return a session as a row of the history.

    "right" and "right_at_first_hearing" are None while the result is withheld. A session of a newer
    faintcall has its stored name for "kind" and "title", and no "page".
    """
    kind = open_kind(record, store)
    withheld = kind is not None and not kind.gives_feedback
    try:
        conditions = conditions_from_plan_data(record.plan)
        conditions_name = conditions_label(conditions)
        snr = snr_text(conditions.snr_db)
    except FaintcallError:
        conditions_name = snr = "from a newer version of faintcall"
    known = find_kind(record.mode)
    return {
        "id": record.id,
        "started": record.started,
        **({"kind": record.mode, "title": record.mode} if known is None else kind_json(known)),
        "answered": record.answered,
        "right": None if withheld else record.right,
        "right_at_first_hearing": None if withheld else record.right_at_first_hearing,
        "snr": snr if has_fixed_snr(record) else "by answers",
        "part": record.plan["part"],
        "conditions": conditions_name,
        "open": kind is not None,
    }


def answers_json(attempts: Sequence[Attempt]) -> list[dict[str, Any]]:
    """Return the answers of a session in their order."""
    return [
        {
            "number": number,
            "right": attempt.right,
            "given_up": attempt.answer.gave_up,
            "typed": attempt.answer.typed,
            "snr": snr_text(attempt.item.conditions.snr_db),
            "operator": attempt.item.operator.name,
            "seconds": round(attempt.answer.seconds, 1),
            "heard": attempt.answer.replays + 1,
            "fields": [_field_json(score) for score in attempt.scores],
        }
        for number, attempt in enumerate(attempts, 1)
    ]


def snr_text(snr_db: float | None) -> str:
    """Return an SNR for a table."""
    return "no noise" if snr_db is None else f"{snr_db:+.1f} dB"


def _field_json(score: FieldScore) -> dict[str, Any]:
    return {
        "name": score.name,
        "sent": score.sent,
        "typed": score.typed,
        "right": score.right,
        "hint": score.hint,
        "pairs": [{"sent": pair.sent, "typed": pair.typed} for pair in score.pairs],
    }
