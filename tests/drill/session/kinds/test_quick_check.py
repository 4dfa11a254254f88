"""Quick check: steps by the share of characters copied, and a character threshold at the end."""

from dataclasses import replace
from pathlib import Path

import pytest

from drill.core.errors import UserError
from drill.core.paths import record_file
from drill.psychometrics.character_threshold import (
    CHARACTER_TARGET,
    CHECK_TARGETS,
    fit_character_threshold,
)
from drill.records.store import Store
from drill.session.attempts import character_trials_of
from drill.session.kinds.quick_check import START_DB, QuickCheck
from drill.session.options import SessionOptions
from drill.session.results import change_resolution
from drill.session.wording import resolution_sentence
from tests.drill.session.example_kinds import PLAN
from tests.drill.simulated_trainee import SimulatedTrainee, answer_items


def test_the_first_item_is_easy_and_the_level_falls_while_most_is_copied() -> None:
    attempts = answer_items(QuickCheck(plan=PLAN), SimulatedTrainee(x50_db=-15.0))
    levels = [attempt.item.conditions.snr_db for attempt in attempts]
    assert levels[0] == START_DB
    assert levels[1] is not None
    assert levels[1] < START_DB


def test_the_level_rises_if_nothing_is_copied() -> None:
    attempts = answer_items(
        QuickCheck(plan=PLAN, start_db=-5.0), SimulatedTrainee(x50_db=40.0), most=3
    )
    levels = [attempt.item.conditions.snr_db for attempt in attempts]
    assert levels == sorted(levels, key=lambda level: level or 0.0)
    assert levels[0] == -5.0
    assert levels[2] != levels[0]


def test_the_result_is_the_character_threshold(home: Path) -> None:
    kind = QuickCheck(plan=PLAN)
    attempts = answer_items(kind, SimulatedTrainee())
    threshold = fit_character_threshold(character_trials_of(attempts), kind.start_db)
    with Store(record_file()) as store:
        (block,) = kind.result_blocks(attempts, store)
    assert block.title == "This check"
    assert f"{threshold.threshold_db.value:+.1f} dB" in block.figures[0]
    assert f"{100 * CHARACTER_TARGET:.0f} % of the characters" in block.figures[0]
    assert "Do not compare it with x50" in block.figures[-1]
    (sentence,) = block.sentences
    assert sentence == resolution_sentence(change_resolution(threshold.threshold_db.sd))


def test_the_standing_counts_characters() -> None:
    kind = QuickCheck(plan=PLAN)
    assert kind.standing(()) == "No estimate yet; 30 items to go."
    (attempt,) = answer_items(kind, SimulatedTrainee(x50_db=-40.0), most=1)
    right = len(attempt.item.message.fields[0].text)
    assert kind.standing([attempt]) == f"{right} characters right so far; 29 items to go."


def test_a_quick_check_is_not_a_measurement_block() -> None:
    kind = QuickCheck(plan=replace(PLAN, count=3))
    attempts = answer_items(kind, SimulatedTrainee())
    from datetime import UTC, datetime

    assert kind.measurement_block("a", datetime(2026, 3, 1, tzinfo=UTC), attempts) is None
    assert kind.finished(attempts)
    assert not kind.finished(attempts[:-1])


def test_a_new_check_alternates_two_tracks_and_an_old_one_has_one(home: Path) -> None:
    with Store(record_file()) as store:
        new = QuickCheck.create(SessionOptions(), store)
    assert new.targets == CHECK_TARGETS
    assert QuickCheck.from_dict(new.plan, new.to_dict()) == new
    old = QuickCheck.from_dict(PLAN, {"start_db": 6.0})
    assert old.targets == (CHARACTER_TARGET,)
    attempts = answer_items(
        QuickCheck(plan=PLAN, targets=CHECK_TARGETS), SimulatedTrainee(), most=2
    )
    assert [attempt.item.conditions.snr_db for attempt in attempts] == [START_DB, START_DB]


@pytest.mark.parametrize("targets", [[1.5], ["x"], 3])
def test_damaged_targets_are_refused(targets: object) -> None:
    with pytest.raises(UserError, match="targets"):
        QuickCheck.from_dict(PLAN, {"start_db": 6.0, "targets": targets})


@pytest.mark.parametrize("name", ["start_db"])
def test_the_first_level_is_recorded(name: str) -> None:
    assert QuickCheck(plan=PLAN, start_db=2.0).to_dict() == {name: 2.0}
