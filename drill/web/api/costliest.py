"""/api/costliest: the labels that cost the trainee most, with examples to hear."""

from typing import Any

from drill.session.costliest import CHARACTER, CostlyLabel, costliest_labels
from drill.session.costliest_wording import costly_mistake, costly_name, costly_sentence
from drill.web.database import open_record


def costliest_json() -> dict[str, Any]:
    """Return "labels": for each "sign", "name", "says", "mistake", "cost_db", and "example".

    sign: its characters, "" for a kind of word. cost_db: value and limits. example: addresses of
    the item's sounds and words, and the number of the word from 0.
    """
    with open_record() as store:
        return {"labels": [_label_json(costly) for costly in costliest_labels(store)]}


def _label_json(costly: CostlyLabel) -> dict[str, Any]:
    example = costly.example
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
            "words": f"{item}/heard",
            "word": example.word,
        },
    }
