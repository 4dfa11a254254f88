"""The labels that cost the trainee most: characters, words and kinds of word, with examples."""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from drill.records.sessions import RawAttempt
from drill.records.store import Store
from drill.session.kinds.training import RECENT_ANSWERS
from drill.session.recorded import result_is_withheld
from drill.weakspots.statistics import character_evidence, label_costs_by_kind, word_style

MOST_NAMED = 3
MOST_OPEN = 200
"""Only this many of the newest sessions are searched for unfinished ones."""
CHARACTER, WORD, STYLE = "character", "word", "style"


@dataclass(frozen=True, kw_only=True, slots=True)
class MissedExample:
    """An answered item in which the label was missed. number, word: counted from 0."""

    session: str
    number: int
    word: int


@dataclass(frozen=True, kw_only=True, slots=True)
class CostlyLabel:
    """A label that needs more SNR than the average, in dB, with its 95 % interval above 0.

    kind: CHARACTER, WORD or STYLE. characters: what the label stands for, "" for a STYLE. n:
    observations. typed: for a CHARACTER, the character most often typed in its place, "" for none.
    example: the newest one that was missed.
    """

    kind: str
    label: str
    characters: str
    cost_db: float
    low_db: float
    high_db: float
    n: int
    typed: str
    example: MissedExample


def costliest_labels(store: Store) -> tuple[CostlyLabel, ...]:
    """Return at most MOST_NAMED labels, costliest first.

    Labels with too little data, labels whose interval includes 0, and a word or character that
    repeats one already in the list are left out. No example is from a session whose answers are
    withheld until it is finished.
    """
    answers = list(store.raw_attempts(newest=RECENT_ANSWERS))
    costs = [
        (cost.cost_db.value, kind, label, cost)
        for kind, labels in label_costs_by_kind(answers, (CHARACTER, WORD, STYLE)).items()
        for label, cost in labels.items()
        if cost.has_enough_data and cost.cost_db.low > 0
    ]
    withheld = _withheld_sessions(store)
    revealed = [answer for answer in answers if answer.session not in withheld]
    named: list[CostlyLabel] = []
    taken: set[str] = set()
    for _, kind, label, cost in sorted(costs, key=lambda entry: (-entry[0], entry[1], entry[2])):
        if len(named) == MOST_NAMED:
            break
        found = _newest_example(revealed, kind, label)
        if found is None:
            continue
        example, characters = found
        said = label if kind == STYLE else characters
        if said not in taken:
            taken.add(said)
            named.append(
                CostlyLabel(
                    kind=kind,
                    label=label,
                    characters="" if kind == STYLE else characters,
                    cost_db=cost.cost_db.value,
                    low_db=cost.cost_db.low,
                    high_db=cost.cost_db.high,
                    n=cost.n,
                    typed=_most_typed(answers, label) if kind == CHARACTER else "",
                    example=example,
                )
            )
    return tuple(named)


def _withheld_sessions(store: Store) -> set[str]:
    """Return the unfinished sessions whose results are shown at their end."""
    records = store.sessions(MOST_OPEN)
    return {record.id for record in records if result_is_withheld(record, store)}


def _most_typed(answers: Sequence[RawAttempt], character: str) -> str:
    """Return the character typed most often for one that was sent, "" if none was twice."""
    typed = Counter(
        evidence.typed
        for evidence in character_evidence(answers)
        if evidence.character == character
        and not evidence.right
        and evidence.typed not in ("", "?")
    )
    label, times = next(iter(typed.most_common(1)), ("", 0))
    return label if times > 1 else ""


def _newest_example(
    answers: Sequence[RawAttempt], kind: str, label: str
) -> tuple[MissedExample, str] | None:
    """Return the newest example in which the label was missed, and the characters of its word."""
    for answer in reversed(answers):
        missed = {
            (evidence.character, evidence.word, evidence.word_style)
            for evidence in character_evidence([answer])
            if not evidence.right
        }
        for number, word in _words(answer):
            for character in word["means"]:
                entry = (character, word["say"], word_style(word["say"], word["means"]))
                if entry in missed and label == entry[(CHARACTER, WORD, STYLE).index(kind)]:
                    example = MissedExample(
                        session=answer.session, number=answer.number, word=number
                    )
                    return example, str(word["means"])
    return None


def _words(answer: RawAttempt) -> Iterator[tuple[int, Mapping[str, Any]]]:
    """Yield number and data of the words that carry characters."""
    for number, word in enumerate(answer.item["message"]["words"]):
        if word["means"]:
            yield number, word
