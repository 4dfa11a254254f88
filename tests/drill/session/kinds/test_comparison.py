"""Comparison: rounds in hidden order, one SNR track for each alternative, and the differences."""

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from drill.core.errors import UserError
from drill.core.models import Item
from drill.core.paths import record_file
from drill.psychometrics.placement import Placement
from drill.records.store import Store
from drill.session.kinds.comparison import Alternative, Comparison
from drill.session.options import ComparedOption, SessionOptions
from tests.drill.session.example_kinds import EXAMPLE_KINDS, PLAN
from tests.drill.simulated_trainee import SimulatedTrainee, answer_items


def comparison(alternatives: Sequence[Alternative]) -> Comparison:
    return Comparison(
        plan=alternatives[0].plan if alternatives else PLAN,
        alternatives=tuple(alternatives),
        placement=Placement(seed=1),
    )


def test_each_round_has_every_alternative_once_in_a_shuffled_order() -> None:
    kind = comparison(
        [Alternative(label=f"{n}", plan=replace(PLAN, pace=1 + n / 10)) for n in range(3)]
    )
    order = [kind.alternative_of(number) for number in range(kind.count)]
    rounds = [tuple(order[start : start + 3]) for start in range(0, len(order), 3)]
    assert {tuple(sorted(turn)) for turn in rounds} == {(0, 1, 2)}
    assert len(set(rounds)) > 3
    attempts = answer_items(kind, SimulatedTrainee())
    assert [len(kind.trials(index, attempts)) for index in range(3)] == [30, 30, 30]


def test_each_alternative_has_its_own_level() -> None:
    """The trainee needs 8 dB more for the second operator, and its items get them."""

    class BadAtOneOperator(SimulatedTrainee):
        def type_answer(self, item: Item) -> str:
            self._x50_db = -7.0 if item.operator.name == "tin" else 1.0
            return super().type_answer(item)

    kind = comparison(
        [Alternative(label=name, plan=replace(PLAN, voices=(name,))) for name in ("tin", "wren")]
    )
    attempts = answer_items(kind, BadAtOneOperator())
    levels = [
        np.mean([trial.snr_db for trial in kind.trials(index, attempts)[10:]]) for index in (0, 1)
    ]
    assert levels[1] - levels[0] == pytest.approx(8, abs=2.5)
    result = kind.result(attempts)
    (difference,) = result.differences
    assert (difference.label, difference.reference) == ("wren", "tin")
    assert difference.interval.low < 8 < difference.interval.high


def test_the_warm_up_counts_for_no_alternative() -> None:
    kind = EXAMPLE_KINDS["comparison"]
    assert isinstance(kind, Comparison)
    attempts = answer_items(kind, SimulatedTrainee())
    assert kind.count == 62
    assert [attempt.item.conditions.snr_db for attempt in attempts[:2]] == [10.0, 10.0]
    assert sum(len(kind.trials(index, attempts)) for index in (0, 1)) == 60


@pytest.mark.parametrize("values", [("2600", "1800"), ("2600", "2100", "1800")])
def test_alternatives_have_equally_many_items_after_a_warm_up(
    values: tuple[str, ...], home: Path
) -> None:
    with Store(record_file()) as store:
        for seed in range(40):
            kind = Comparison.from_plan(replace(PLAN, seed=seed), "filter", values, store)
            assert kind.warm_ups == 5
            owners = [kind.alternative_of(n) for n in range(kind.warm_ups, kind.count)]
            assert [owners.count(index) for index in range(len(values))] == [30] * len(values)


def test_warm_ups_stay_part_of_the_rounds_in_sessions_of_version_0_2_0() -> None:
    kind = EXAMPLE_KINDS["comparison"]
    assert isinstance(kind, Comparison)
    released = replace(kind, placement=Placement(seed=1, warm_ups=5))
    assert "warm_ups_apart" not in released.to_dict()
    assert Comparison.from_dict(released.plan, released.to_dict()) == released
    apart = replace(released, warm_ups_apart=True)
    assert Comparison.from_dict(apart.plan, apart.to_dict()) == apart


def test_the_default_number_of_items_is_not_called_too_few(home: Path) -> None:
    options = SessionOptions(compare=ComparedOption(option="filter", values=("2600", "1800")))
    with Store(record_file()) as store:
        kind = Comparison.create(options, store)
        result = kind.result(answer_items(kind, SimulatedTrainee()))
    for alternative in result.alternatives:
        assert alternative.estimate is not None
        assert "few" not in {flag.key for flag in alternative.estimate.flags}


@pytest.mark.parametrize("labels", [(), ("one",), ("one", "one")])
def test_a_comparison_needs_two_different_values(labels: tuple[str, ...]) -> None:
    with pytest.raises(UserError, match="two or more different values") as refused:
        comparison([Alternative(label=label, plan=PLAN) for label in labels])
    assert refused.value.field == "compare.values"


@pytest.mark.parametrize(
    ("compare", "message", "field"),
    [
        (None, "nothing to compare; give one of conditions, fading", "compare"),
        (ComparedOption(option="colour", values=("red", "blue")), "'colour'", "compare.option"),
        (ComparedOption(option="fading", values=("steady",)), "two or more", "compare.values"),
        (ComparedOption(option="alternates", values=("0", "lots")), "'lots'", "compare.values"),
        (ComparedOption(option="fading", values=("steady", "fog")), "'fog'", "compare.values"),
        (ComparedOption(option="voices", values=("tin", "nobody")), "'nobody'", "compare.values"),
    ],
)
def test_a_comparison_that_cannot_be_made_is_refused(
    compare: ComparedOption | None, message: str, field: str, home: Path
) -> None:
    with (
        Store(record_file()) as store,
        pytest.raises(UserError, match=message) as refused,
    ):
        Comparison.create(SessionOptions(compare=compare), store)
    assert refused.value.field == field


def test_nothing_names_the_alternatives_before_the_end(home: Path) -> None:
    with Store(record_file()) as store:
        kind = Comparison.from_plan(PLAN, "filter", ["2600", "1800"], store)
        attempts = answer_items(kind, SimulatedTrainee())
        (block,) = kind.result_blocks(attempts, store)
    assert "1800" not in kind.announcement()
    assert kind.standing(attempts[:10]) == "55 items to go."
    assert block.table is not None
    assert [row[0] for row in block.table.rows] == ["2600", "1800"]
    assert block.sentences[-1].startswith("1800 compared with 2600: x50 differs by ")


def test_an_alternative_without_trials_is_listed_without_a_difference(home: Path) -> None:
    kind = EXAMPLE_KINDS["comparison"]
    assert isinstance(kind, Comparison)
    attempts = answer_items(kind, SimulatedTrainee(), most=3)
    result = kind.result(attempts)
    assert sorted(entry.estimate is None for entry in result.alternatives) == [False, True]
    assert result.differences == ()
    with Store(record_file()) as store:
        (block,) = kind.result_blocks(attempts, store)
    assert block.table is not None
    assert ("no items yet", "") in [row[1:] for row in block.table.rows]
