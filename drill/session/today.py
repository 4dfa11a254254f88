"""What to practise today: chosen from the record, with the reason as data."""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from drill.radio.presets import PLAIN_PRESET
from drill.records.sessions import RawAttempt
from drill.records.store import Store
from drill.session.blocks import measurement_blocks
from drill.session.evening import FEWEST_ITEMS, answered_today, items_in_ten_minutes
from drill.session.kinds.base import SessionKind
from drill.session.kinds.first_steps import FirstSteps
from drill.session.kinds.measurement import Measurement
from drill.session.kinds.practice import Practice
from drill.session.kinds.training import Training
from drill.session.options import SessionOptions
from drill.weakspots.statistics import CharacterEvidence, character_evidence

NEW, FIRST_MEASUREMENT, OLD_MEASUREMENT = "new", "first-measurement", "old-measurement"
OLD_TAKE, MISSED, PRACTISE, TOO_HARD = "old-take", "missed", "practise", "too-hard"
"""Reasons of a recommendation."""
ENOUGH_TO_MEASURE = 20
"""Number of answers before a measurement is recommended; keys and voices are familiar by then."""
MEASUREMENT_AGE = timedelta(days=14)
TAKE_AGE = timedelta(days=21)
ANSWERS_FOR_ADVICE = 300
EASY_SNR_DB = 6.0
"""Plain conditions with at least this SNR in 3 kHz are easy: a word is well above the noise."""
EASY_ANSWERS, LEAST_EASY_ANSWERS = 24, 6
"""Number of newest answers to easy items that are counted, and how many of them are enough."""
TOO_FEW_RIGHT = 1 / 3
"""With a smaller share of easy items right on first hearing, calls without noise are offered."""
SLOW_PACE = 0.8
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
class EasyScore:
    """How many of the newest easy items were right on first hearing."""

    right: int
    answered: int

    @property
    def too_hard(self) -> bool:
        """True if even easy items are too hard."""
        enough = self.answered >= LEAST_EASY_ANSWERS
        return enough and self.right < TOO_FEW_RIGHT * self.answered


@dataclass(frozen=True, kw_only=True, slots=True)
class Recommendation:
    """A recommendation with its reason.

    reason: one of the reasons of this module. kind: of the session, None for the sending drill.
    count: its number of items, None for the usual one. days: since the last measurement or take.
    answered, today: answers in the record (at most ANSWERS_FOR_ADVICE) and since this morning.
    missed: for the reason MISSED. easy: for the reason TOO_HARD.
    """

    reason: str
    kind: type[SessionKind] | None
    count: int | None = None
    days: int = 0
    answered: int = 0
    today: int = 0
    missed: MissedCharacter | None = None
    easy: EasyScore | None = None

    @property
    def ten_minutes_done(self) -> bool:
        """True if as many items were answered today as the shortest recommendation has."""
        return self.today >= FEWEST_ITEMS

    def options(self) -> SessionOptions:
        """Return the options of the session."""
        if self.reason == TOO_HARD:
            return SessionOptions(count=self.count, no_noise=True, pace=SLOW_PACE)
        return SessionOptions(count=self.count)


def recommend(store: Store, *, now: datetime) -> Recommendation:
    """Return what to practise now; now: local time with its time zone."""
    recent = list(store.raw_attempts(newest=ANSWERS_FOR_ADVICE))
    recommendation = _recommend(store, recent, now=now)
    return replace(recommendation, answered=len(recent), today=answered_today(recent, now=now))


def _recommend(store: Store, recent: Sequence[RawAttempt], *, now: datetime) -> Recommendation:
    answered, count = len(recent), items_in_ten_minutes(recent)
    if not answered:
        return Recommendation(reason=NEW, kind=FirstSteps, count=count)
    easy = easy_score(recent)
    if easy.too_hard:
        return Recommendation(reason=TOO_HARD, kind=Practice, count=count, easy=easy)
    blocks = measurement_blocks(store)
    if not blocks and answered >= ENOUGH_TO_MEASURE:
        return Recommendation(reason=FIRST_MEASUREMENT, kind=Measurement)
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
        count=count,
        missed=missed,
    )


def easy_score(attempts: Iterable[RawAttempt]) -> EasyScore:
    """Return the score of the newest EASY_ANSWERS easy items; attempts: oldest first."""
    easy = [attempt for attempt in attempts if _is_easy(attempt)][-EASY_ANSWERS:]
    right = sum(attempt.right and not attempt.answer["replays"] for attempt in easy)
    return EasyScore(right=right, answered=len(easy))


def _is_easy(attempt: RawAttempt) -> bool:
    name = attempt.item["conditions"].get("name") or PLAIN_PRESET
    return name == PLAIN_PRESET and (attempt.snr_db is None or attempt.snr_db >= EASY_SNR_DB)


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
