"""Rules for every kind of session: its record, its order of items, and its options."""

import json
from pathlib import Path

import pytest

from drill.core.errors import UserError
from drill.core.paths import record_file
from drill.items.plan import Plan
from drill.records.store import Store
from drill.session.kinds import kind_from_record, registered_kinds
from drill.session.kinds.base import SessionKind
from drill.session.options import ComparedOption, SessionOptions
from tests.drill.session.example_kinds import EXAMPLE_KINDS, PLAN
from tests.drill.simulated_trainee import SimulatedTrainee, answer_items

FAST = {"mix": "unassigned", "voices": ("tin",)}


def test_every_kind_has_an_example() -> None:
    assert [type(kind) for kind in EXAMPLE_KINDS.values()] == list(registered_kinds())
    assert list(EXAMPLE_KINDS) == [kind.name for kind in registered_kinds()]


@pytest.mark.parametrize("kind", EXAMPLE_KINDS.values(), ids=EXAMPLE_KINDS)
def test_a_recorded_session_is_read_back_with_the_same_set_up(kind: SessionKind) -> None:
    data = json.loads(json.dumps(kind.to_dict()))
    plan = json.loads(json.dumps(kind.plan.to_dict()))
    assert kind_from_record(kind.stored_name, plan, data) == kind


@pytest.mark.parametrize("kind", EXAMPLE_KINDS.values(), ids=EXAMPLE_KINDS)
def test_an_item_depends_on_earlier_answers_only(kind: SessionKind) -> None:
    """A session continued after any item presents the same items, whatever comes later."""
    attempts = answer_items(kind, SimulatedTrainee())
    assert len(attempts) == kind.count
    for number in (0, 3, 11, 20, len(attempts) - 1):
        assert kind.item(number, attempts[:number]) == attempts[number].item
        assert kind.item(number, attempts) == attempts[number].item


@pytest.mark.parametrize("kind", EXAMPLE_KINDS.values(), ids=EXAMPLE_KINDS)
def test_words_and_operator_of_an_item_need_no_answer(kind: SessionKind) -> None:
    """Speech is synthesised before the preceding answers; only the SNR depends on them."""
    attempts = answer_items(kind, SimulatedTrainee(), most=12)
    for number in range(1, 12):
        item = kind.spoken_item(number)
        assert item.message == attempts[number].item.message
        assert item.operator == attempts[number].item.operator
        assert item.seed == attempts[number].item.seed


@pytest.mark.parametrize("kind", EXAMPLE_KINDS.values(), ids=EXAMPLE_KINDS)
def test_no_call_occurs_twice(kind: SessionKind) -> None:
    calls = [attempt.item.message.call for attempt in answer_items(kind, SimulatedTrainee())]
    assert len(set(calls)) == len(calls)


@pytest.mark.parametrize("kind", EXAMPLE_KINDS.values(), ids=EXAMPLE_KINDS)
def test_a_session_that_shows_no_scores_shows_none_anywhere(kind: SessionKind) -> None:
    """Feedback or replays would reveal the withheld result."""
    assert kind.gives_feedback == kind.allows_replays


@pytest.mark.parametrize("kind", EXAMPLE_KINDS.values(), ids=EXAMPLE_KINDS)
def test_the_announcement_counts_all_items(kind: SessionKind) -> None:
    warm_up = f", the first {kind.warm_ups} to warm up" if kind.warm_ups else ""
    assert kind.announcement().startswith(f"{kind.count} items{warm_up}: ")
    assert kind.announcement().endswith("seed 5.")


def test_sessions_that_set_the_snr_announce_no_snr_of_the_plan() -> None:
    assert EXAMPLE_KINDS["practice"].description() == "SNR 0 dB in 3 kHz, steady path, seed 5"
    assert EXAMPLE_KINDS["training"].description() == "SNR set by your answers, steady path, seed 5"


@pytest.mark.parametrize("kind", registered_kinds(), ids=lambda kind: kind.name)
@pytest.mark.parametrize(
    ("name", "options"),
    [
        ("snr_db", SessionOptions(snr_db=3.0)),
        ("no_noise", SessionOptions(no_noise=True)),
        ("watts", SessionOptions(watts=5.0)),
        ("until_db", SessionOptions(until_db=2.0)),
        ("compare", SessionOptions(compare=ComparedOption(option="fading", values=("a", "b")))),
    ],
)
def test_an_option_of_another_kind_is_refused(
    kind: type[SessionKind], name: str, options: SessionOptions
) -> None:
    if name in kind.options:
        kind.check_options(options)
        return
    with pytest.raises(UserError, match=f"of the kind '{kind.name}'.*leave") as refused:
        kind.check_options(options)
    assert (refused.value.field, refused.value.kind) == (name, "not_taken")


@pytest.mark.parametrize("kind", registered_kinds(), ids=lambda kind: kind.name)
def test_the_number_of_items_is_the_requested_one_or_the_default(
    kind: type[SessionKind], home: Path
) -> None:
    compare = ComparedOption(option="alternates", values=("0", "1"))
    more = {"compare": compare} if "compare" in kind.options else {}
    with Store(record_file()) as store:
        default = kind.create(SessionOptions(**FAST, **more), store)  # type: ignore[arg-type]
        longer = kind.create(SessionOptions(**FAST, **more, count=77), store)  # type: ignore[arg-type]
    assert default.plan.count == kind.default_count
    assert longer.plan.count == 77


def test_the_result_of_a_session_under_fixed_conditions_is_its_standing(home: Path) -> None:
    kind = EXAMPLE_KINDS["practice"]
    attempts = answer_items(kind, SimulatedTrainee())
    with Store(record_file()) as store:
        assert kind.result_blocks(attempts, store) == []
    assert kind.standing(attempts).endswith("; 0 items to go.")


def test_only_until_db_lets_a_session_end_early() -> None:
    early = [name for name, kind in EXAMPLE_KINDS.items() if kind.can_end_early]
    assert early == ["measurement"]
    assert not SessionKind(plan=PLAN).can_end_early
    assert SessionKind(plan=Plan(seed=1, count=3)).count == 3
