"""Totals and trials from attempts."""

from dataclasses import replace

import pytest

from drill.core.models import Attempt
from drill.session.attempts import character_trials_of, tally_attempts, trials_of
from drill.session.kinds.practice import Practice
from tests.drill.session.example_kinds import PLAN
from tests.drill.simulated_trainee import SimulatedTrainee, answer_items


@pytest.fixture(scope="module")
def attempts() -> list[Attempt]:
    return answer_items(Practice(plan=replace(PLAN, count=12)), SimulatedTrainee(x50_db=-3.0))


def without_noise(attempt: Attempt) -> Attempt:
    conditions = replace(attempt.item.conditions, snr_db=None)
    return replace(attempt, item=replace(attempt.item, conditions=conditions))


def with_replay(attempt: Attempt) -> Attempt:
    return replace(attempt, answer=replace(attempt.answer, replays=1))


def test_the_tally_counts_answers_and_characters(attempts: list[Attempt]) -> None:
    tally = tally_attempts(attempts)
    assert tally.answered == 12
    assert 0 < tally.right == sum(attempt.right for attempt in attempts) < 12
    sent = sum(len(attempt.item.message.fields[0].text) for attempt in attempts)
    assert tally.characters_sent == sent > tally.characters_right > 0
    assert tally.right_at_first_hearing == tally.right
    repeated = [with_replay(attempt) for attempt in attempts[:6]] + list(attempts[6:])
    assert tally_attempts(repeated).right == tally.right
    first = sum(attempt.right for attempt in attempts[6:])
    assert tally_attempts(repeated).right_at_first_hearing == first < tally.right
    assert tally_attempts(()).right_at_first_hearing == 0


def test_a_trial_is_an_attempt_in_noise_without_replay(attempts: list[Attempt]) -> None:
    mixed = [without_noise(attempts[0]), with_replay(attempts[1]), *attempts[2:]]
    trials = trials_of(mixed, warm_ups=4)
    assert [trial.right for trial in trials] == [attempt.right for attempt in attempts[2:]]
    assert [trial.warm_up for trial in trials] == [True] * 2 + [False] * 8


def test_character_trials_count_characters_of_attempts_in_noise(attempts: list[Attempt]) -> None:
    trials = character_trials_of([without_noise(attempts[0]), *attempts[1:]])
    tally = tally_attempts(attempts[1:])
    assert len(trials) == 11
    assert sum(trial.right for trial in trials) == tally.characters_right
    assert sum(trial.sent for trial in trials) == tally.characters_sent
