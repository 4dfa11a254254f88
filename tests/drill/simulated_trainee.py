"""A simulated trainee for tests of sessions: types what it copies, also at a terminal's prompts."""

import math
import random
from collections.abc import Callable, Mapping
from datetime import UTC, datetime, timedelta

import pytest

from drill.cli.dialogue import PROMPT
from drill.core.models import Answer, Attempt, Item
from drill.records.store import Store
from drill.scoring.answers import score_answer
from drill.session.kinds.base import SessionKind
from drill.session.session import Session

START = datetime(2026, 3, 1, 9, 0, tzinfo=UTC)


class SimulatedTrainee:
    """Copies each character with a probability that rises with the SNR.

    x50_db: SNR at which half of the characters are copied. slope: logistic slope per dB. hard:
    extra SNR in dB that single characters need.
    """

    def __init__(
        self,
        seed: int = 1,
        x50_db: float = -7.0,
        slope: float = 0.5,
        hard: Mapping[str, float] | None = None,
    ) -> None:
        """Set up the trainee."""
        self._rng = random.Random(seed)
        self._x50_db, self._slope, self._hard = x50_db, slope, hard or {}

    def type_answer(self, item: Item) -> str:
        """Return what the trainee types for an item."""
        return " ".join(
            "".join(self._typed(character, item.conditions.snr_db) for character in field.text)
            for field in item.message.fields
        )

    def _typed(self, character: str, snr_db: float | None) -> str:
        threshold_db = self._x50_db + self._hard.get(character, 0)
        depth_db = (60 if snr_db is None else snr_db) - threshold_db
        if self._rng.random() < 1 / (1 + math.exp(-self._slope * depth_db)):
            return character
        return self._rng.choice([c for c in "ABCDEFGH1234" if c != character])


def answer_items(
    kind: SessionKind, trainee: SimulatedTrainee, most: int = 100_000, day: int = 0
) -> list[Attempt]:
    """Return the attempts of a trainee in a session, without rendering any audio.

    most: number of attempts after which the trainee stops. day: days from START to the session.
    """
    attempts: list[Attempt] = []
    while not kind.finished(attempts) and len(attempts) < most:
        item = kind.item(len(attempts), attempts)
        text = trainee.type_answer(item)
        answered_at = START + timedelta(days=day, seconds=8 * len(attempts))
        attempts.append(
            Attempt(
                answered_at=answered_at.isoformat(),
                item=item,
                answer=Answer(typed=text, seconds=2.0),
                scores=score_answer(item.message.fields, text),
                version="test",
            )
        )
    return attempts


def record_session(
    store: Store,
    kind: SessionKind,
    trainee: SimulatedTrainee | None = None,
    *,
    day: int = 0,
    most: int = 100_000,
) -> str:
    """Record a session; return its identity.

    trainee: the trainee, None for one who copies half of the characters at -9 dB. day, most: as in
    `run`.
    """
    trainee = trainee or SimulatedTrainee(seed=day, x50_db=-9.0)
    identity = store.begin_session(
        kind.plan,
        now=START + timedelta(days=day),
        version="test",
        mode=kind.stored_name,
        course=kind.to_dict(),
    )
    for number, attempt in enumerate(answer_items(kind, trainee, most, day)):
        store.add_attempt(identity, number, attempt)
    return identity


def answer_prompts(
    monkeypatch: pytest.MonkeyPatch,
    trainee: SimulatedTrainee,
    other: Callable[[str, int], str | None] = lambda prompt, item: None,
) -> list[str]:
    """Let the trainee answer every prompt of the terminal; return the list that collects prompts.

    other: returns what to type at the prompt for item n in place of the trainee's answer, or None.
    Prompts other than PROMPT are answered with Enter alone.
    """
    present = Session.present
    current: dict[str, Item] = {}
    prompts: list[str] = []
    answered = 0

    def remember_item(self: Session) -> object:
        item_and_clip = present(self)
        current["item"] = item_and_clip[0]
        return item_and_clip

    def answer(prompt: str = "") -> str:
        nonlocal answered
        prompts.append(prompt)
        if prompt != PROMPT:
            return ""
        text = other(prompt, answered)
        if text is not None:
            answered += text not in ("", "n", "i")
            return text
        answered += 1
        return trainee.type_answer(current["item"])

    monkeypatch.setattr(Session, "present", remember_item)
    monkeypatch.setattr("builtins.input", answer)
    return prompts
