"""/api/costliest: the labels that cost the trainee most, with examples to hear."""

from typing import Any

from drill.items.heard_words import hear_words
from drill.records.store import Store
from drill.session.costliest import CHARACTER, CostlyLabel, costliest_labels
from drill.session.costliest_wording import costly_mistake, costly_name, costly_sentence
from drill.web.database import open_record


def costliest_json() -> dict[str, Any]:
    """Return "labels": for each "sign", "name", "says", "mistake", "cost_db", and "example".

    sign: its characters, or its name. cost_db: value and limits. example: the sounds and the time
    of the word.

    Raises: NoVoice.
    """
    with open_record() as store:
        return {"labels": [_label_json(store, costly) for costly in costliest_labels(store)]}


def _label_json(store: Store, costly: CostlyLabel) -> dict[str, Any]:
    example = costly.example
    attempt = store.attempts(example.session, first=example.number)[0]
    word = hear_words(attempt.item).words[example.word]
    item = f"/api/sessions/{example.session}/items/{example.number}"
    return {
        "sign": costly.label if costly.kind == CHARACTER else costly.characters,
        "name": costly_name(costly),
        "says": costly_sentence(costly),
        "mistake": costly_mistake(costly),
        "cost_db": [costly.cost_db, costly.low_db, costly.high_db],
        "example": {
            "noise": f"{item}/noise.wav",
            "clean": f"{item}/clean.wav",
            "start_s": round(word.start_s, 3),
            "end_s": round(word.end_s, 3),
        },
    }
