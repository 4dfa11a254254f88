"""Recorded answers for the tests of weak spots and confusions."""

from collections.abc import Sequence
from dataclasses import replace

from drill.core.models import Attempt
from drill.core.structuring import to_data
from drill.items.plan import Plan
from drill.records.sessions import RawAttempt
from drill.scoring.answers import score_answer
from drill.session.kinds.practice import Practice
from tests.drill.simulated_trainee import SimulatedTrainee, answer_items

PLAN = Plan(seed=8, count=400, mix="unassigned", voices=("tin", "wren"))


def as_recorded(attempts: Sequence[Attempt]) -> list[RawAttempt]:
    """Return attempts in the form in which the record returns them."""
    return [
        RawAttempt(
            mode="practice",
            session="session",
            number=number,
            answered_at=attempt.answered_at,
            snr_db=attempt.item.conditions.snr_db,
            right=attempt.right,
            item=to_data(attempt.item),
            answer=to_data(attempt.answer),
            scores=[to_data(score) for score in attempt.scores],
        )
        for number, attempt in enumerate(attempts)
    ]


def answer_again(attempt: Attempt, typed: str) -> Attempt:
    """Return the attempt with another answer."""
    scores = score_answer(attempt.item.message.fields, typed)
    return replace(attempt, answer=replace(attempt.answer, typed=typed), scores=scores)


def recorded_answer(typed: str, plan: Plan = PLAN) -> RawAttempt:
    """Return one answer to the plan's first item; {0} in it stands for the first field."""
    (attempt,) = answer_items(Practice(plan=replace(plan, count=1)), SimulatedTrainee(), most=1)
    fields = attempt.item.message.fields
    typed = typed.format(*(field.text for field in fields))
    return as_recorded([answer_again(attempt, typed)])[0]
