"""Training: the SNR follows the trainee, and half of the items are chosen by weaknesses."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from drill.core.paths import record_file
from drill.items.plan import compose_item
from drill.psychometrics.grid import Prior
from drill.psychometrics.placement import TRAINING_TARGETS, Placement
from drill.records.store import Store
from drill.session.kinds import training
from drill.session.kinds.measurement import Measurement
from drill.session.kinds.training import Training
from drill.weakspots.choose import item_difficulty
from tests.drill.session.example_kinds import PLAN
from tests.drill.simulated_trainee import SimulatedTrainee, answer_items, record_session

PLACEMENT = Placement(seed=3, targets=TRAINING_TARGETS)


def test_the_share_of_right_items_is_that_of_the_targets() -> None:
    kind = Training(plan=replace(PLAN, count=150), placement=PLACEMENT)
    right = [attempt.right for attempt in answer_items(kind, SimulatedTrainee())]
    assert np.mean(right[30:]) == pytest.approx(np.mean(TRAINING_TARGETS), abs=0.1)


def test_every_other_item_is_chosen_by_what_is_missed() -> None:
    weak = {"character Q": 4.0, "word victor": 4.0}
    kind = Training(plan=replace(PLAN, count=200), placement=PLACEMENT, weak=weak)
    items = [kind.spoken_item(number) for number in range(200)]
    difficulty = [item_difficulty(item, weak) for item in items]
    assert np.mean(difficulty[1::2]) > np.mean(difficulty[0::2]) + 0.5
    assert items[0::2] == [compose_item(kind.plan, number) for number in range(0, 200, 2)]


def test_weaknesses_come_from_the_newest_answers_of_the_record(
    home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Only the second session, in which Q is hard to copy, is within the newest answers."""
    with Store(record_file()) as store:
        plan = replace(PLAN, count=120)
        record_session(store, Measurement.from_plan(plan, store), day=0)
        before = Training.from_plan(PLAN, store)
        monkeypatch.setattr(training, "RECENT_ANSWERS", 10)
        recent = Training.from_plan(PLAN, store)
    assert before.weak
    assert recent.weak == {}


def test_the_prior_comes_from_earlier_measurements(home: Path) -> None:
    with Store(record_file()) as store:
        assert Training.from_plan(PLAN, store).placement.prior == Placement(seed=0).prior
        record_session(store, Measurement.from_plan(PLAN, store), day=0)
        prior = Training.from_plan(PLAN, store).placement.prior
    assert prior.threshold_mean_db != 0
    assert prior.slope_log_sd < Prior().slope_log_sd / 2


def test_a_miss_is_played_again_and_scores_are_shown() -> None:
    assert Training.repeats_misses
    assert Training.gives_feedback
    assert Training.sets_snr()
