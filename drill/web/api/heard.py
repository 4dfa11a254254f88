"""/api/sessions/ID/items/NUMBER/heard: the words of an answered item as they arrived."""

from typing import Any

from drill.items.heard_words import TRACK_STEP_S, hear_words
from drill.scoring.missed_words import missed_words, typed_for_words
from drill.session.heard_wording import describe_words
from drill.session.recorded import recorded_kind
from drill.web.database import NotFoundError, open_record


def heard_json(identity: str, number: int) -> dict[str, Any]:
    """Return the words of an item with their times and levels, and a line about each.

    number: of an answered item, from 0. "typed": what was typed for a word, null if it carries no
    characters or the item was given up. The levels over time are those of
    drill.items.heard_words.LevelTrack, one value every "step_s"; "noise_db" is the mean level of
    the noise on the same scale, null without noise.

    Raises: NotFoundError for an item that has no answer, or whose session reveals its answers only
    at its end; NoVoice.
    """
    with open_record() as store:
        record = store.session(identity)
        if record is None:
            raise NotFoundError(f"the record has no session {identity!r}")
        attempts = store.attempts(identity)
        kind = recorded_kind(record)
        revealed = kind.gives_feedback or kind.finished(attempts)
        if number >= len(attempts) or not revealed:
            raise NotFoundError("the details of this item are not available")
    attempt = attempts[number]
    heard = hear_words(attempt.item)
    message, scores = attempt.item.message, attempt.scores
    missed = missed_words(message, scores)
    typed = {} if attempt.answer.gave_up else typed_for_words(message, scores)
    lines = describe_words(heard.words, missed)
    return {
        "words": [
            {
                "say": word.say,
                "means": word.means,
                "start_s": round(word.start_s, 3),
                "end_s": round(word.end_s, 3),
                "missed": place in missed,
                "typed": typed.get(place),
                "line": line,
            }
            for place, (word, line) in enumerate(zip(heard.words, lines, strict=True))
        ],
        "step_s": TRACK_STEP_S,
        "voice_db": heard.levels.voice_db,
        "rest_db": heard.levels.rest_db,
    }
