"""The answers of one past sitting for the page: what was sent and what was typed, item by item."""

from collections.abc import Sequence
from typing import Any

from drill.core.models import Attempt, FieldScore


def answers_json(attempts: Sequence[Attempt]) -> list[dict[str, Any]]:
    """Return the answers of a sitting in their order."""
    return [
        {
            "number": number,
            "right": attempt.right,
            "given_up": attempt.answer.gave_up,
            "typed": attempt.answer.typed,
            "snr": snr(attempt.item.conditions.snr_db),
            "operator": attempt.item.operator.name,
            "seconds": round(attempt.answer.seconds, 1),
            "heard": attempt.answer.replays + 1,
            "fields": [_field(score) for score in attempt.scores],
        }
        for number, attempt in enumerate(attempts, 1)
    ]


def snr(value_db: float | None) -> str:
    """Return an SNR in words."""
    return "no noise" if value_db is None else f"{value_db:+.1f} dB"


def _field(score: FieldScore) -> dict[str, Any]:
    return {
        "name": score.name,
        "sent": score.sent,
        "copied": score.typed,
        "right": score.right,
        "hint": score.hint,
        "pairs": [{"sent": pair.sent, "copied": pair.typed} for pair in score.pairs],
    }
