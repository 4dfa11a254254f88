"""A simulated listener who types: what the tests of sittings have at the keyboard."""

import math
import random
from collections.abc import Callable, Mapping
from datetime import UTC, datetime, timedelta

import pytest

from drill.core.models import Answer, Attempt, Item
from drill.scoring.answers import score
from drill.session.courses import Course
from drill.session.session import Practice

START = datetime(2026, 3, 1, 9, 0, tzinfo=UTC)


class Typist:
    """Copies each character with a chance that rises with the SNR.

    x50_db: where half of the characters are copied; hard: dB more for some characters.
    """

    def __init__(
        self,
        seed: int = 1,
        x50_db: float = -7.0,
        slope: float = 0.5,
        hard: Mapping[str, float] | None = None,
    ) -> None:
        """Take what is known of the listener."""
        self._rng = random.Random(seed)
        self._x50_db, self._slope, self._hard = x50_db, slope, hard or {}

    def types(self, item: Item) -> str:
        """Return what is typed for an item."""
        return " ".join(
            "".join(self._copied(c, item.conditions.snr_db) for c in field.text)
            for field in item.message.fields
        )

    def _copied(self, character: str, snr_db: float | None) -> str:
        depth = (snr_db if snr_db is not None else 60) - self._x50_db - self._hard.get(character, 0)
        if self._rng.random() < 1 / (1 + math.exp(-self._slope * depth)):
            return character
        return self._rng.choice([c for c in "ABCDEFGH1234" if c != character])


def run(course: Course, typist: Typist, most: int = 100_000, day: int = 0) -> list[Attempt]:
    """Return the attempts of a listener at a course, no sound made."""
    attempts: list[Attempt] = []
    while not course.finished(attempts) and len(attempts) < most:
        item = course.item(len(attempts), attempts)
        text = typist.types(item)
        at = START + timedelta(days=day, seconds=8 * len(attempts))
        attempts.append(
            Attempt(
                answered_at=at.isoformat(),
                item=item,
                answer=Answer(typed=text, seconds=2.0),
                scores=score(item.message.fields, text),
                version="test",
            )
        )
    return attempts


def at_the_keyboard(
    monkeypatch: pytest.MonkeyPatch,
    typist: Typist,
    other: Callable[[str, int], str | None] = lambda prompt, item: None,
) -> list[str]:
    """Have the typist answer every prompt; return the list in which the prompts are kept.

    other: what to type in place of a copy at the n-th item; None for the typist's own answer.
    """
    present = Practice.present
    now: dict[str, Item] = {}
    prompts: list[str] = []
    copied = 0

    def shown(self: Practice) -> object:
        made = present(self)
        now["item"] = made[0]
        return made

    def answer(prompt: str = "") -> str:
        nonlocal copied
        prompts.append(prompt)
        if not prompt.startswith("copied"):
            return ""
        said = other(prompt, copied)
        if said is not None:
            copied += said not in ("", "?")
            return said
        copied += 1
        return typist.types(now["item"])

    monkeypatch.setattr(Practice, "present", shown)
    monkeypatch.setattr("builtins.input", answer)
    return prompts
