"""What to practise today: chosen from the record, with the reason as data."""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from drill.records.store import Store
from drill.session.blocks import measurement_blocks
from drill.session.kinds.base import SessionKind
from drill.session.kinds.first_steps import FirstSteps
from drill.session.kinds.measurement import Measurement
from drill.session.kinds.training import SHORT_TRAINING, Training
from drill.session.options import SessionOptions
from drill.weakspots.statistics import CharacterEvidence, character_evidence

NEW, FIRST_MEASUREMENT, OLD_MEASUREMENT = "new", "first-measurement", "old-measurement"
OLD_TAKE, MISSED, PRACTISE = "old-take", "missed", "practise"
"""Reasons of a recommendation."""
ENOUGH_TO_MEASURE = 20
"""Number of answers before a measurement is recommended; keys and voices are familiar by then."""
MEASUREMENT_AGE = timedelta(days=14)
TAKE_AGE = timedelta(days=21)
ANSWERS_FOR_ADVICE = 300
LEAST_SENT, LEAST_SHARE = 8, 0.25
"""A character is mentioned if it was sent at least this often and missed in this share of cases."""


@dataclass(frozen=True, kw_only=True, slots=True)
class MissedCharacter:
    """A character that is often missed, and the character most often typed for it, "" for none."""

    character: str
    missed: int
    sent: int
    typed: str = ""


@dataclass(frozen=True, kw_only=True, slots=True)
class Recommendation:
    """A recommendation with its reason.

    reason: one of the reasons of this module. kind: of the session, None for the sending drill.
    count: its number of items, None for the usual one. days: since the last measurement or take.
    answered: answers in the record. missed: for the reason MISSED.
    """

    reason: str
    kind: type[SessionKind] | None
    count: int | None = None
    days: int = 0
    answered: int = 0
    missed: MissedCharacter | None = None

    def options(self) -> SessionOptions:
        """Return the options of the session."""
        return SessionOptions(count=self.count)


def recommend(store: Store, *, now: datetime) -> Recommendation:
    """Return what to practise now; now: with a time zone."""
    recent = list(store.raw_attempts(newest=ANSWERS_FOR_ADVICE))
    answered = len(recent)
    if not answered:
        return Recommendation(reason=NEW, kind=FirstSteps)
    blocks = measurement_blocks(store)
    if not blocks and answered >= ENOUGH_TO_MEASURE:
        return Recommendation(reason=FIRST_MEASUREMENT, kind=Measurement, answered=answered)
    if blocks and now - blocks[-1].started > MEASUREMENT_AGE:
        days = (now - blocks[-1].started).days
        return Recommendation(reason=OLD_MEASUREMENT, kind=Measurement, days=days)
    takes = store.takes(1)
    if takes and (age := now - datetime.fromisoformat(takes[0][0])) > TAKE_AGE:
        return Recommendation(reason=OLD_TAKE, kind=None, days=age.days)
    missed = most_missed(character_evidence(recent))
    return Recommendation(
        reason=MISSED if missed else PRACTISE,
        kind=Training,
        count=SHORT_TRAINING,
        answered=answered,
        missed=missed,
    )


def most_missed(evidence: Iterable[CharacterEvidence]) -> MissedCharacter | None:
    """Return the character with the largest share of misses, None if none is missed often."""
    by_character: dict[str, list[CharacterEvidence]] = {}
    for character in evidence:
        by_character.setdefault(character.character, []).append(character)
    candidates = [
        (sum(not one.right for one in seen) / len(seen), label)
        for label, seen in by_character.items()
        if len(seen) >= LEAST_SENT
    ]
    share, label = max(candidates, default=(0.0, ""))
    if share < LEAST_SHARE:
        return None
    return _missed_character(label, by_character[label])


def _missed_character(label: str, seen: Sequence[CharacterEvidence]) -> MissedCharacter:
    wrong = Counter(one.typed for one in seen if not one.right and one.typed not in ("", "?"))
    typed, times = next(iter(wrong.most_common(1)), ("", 0))
    return MissedCharacter(
        character=label,
        missed=sum(not one.right for one in seen),
        sent=len(seen),
        typed=typed if times > 1 else "",
    )
