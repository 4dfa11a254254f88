"""A plan and a number give an item, always the same one."""

import pytest

from drill.core.conditions import Conditions
from drill.core.errors import UserError
from drill.items.plan import Plan, compose_item
from drill.radio.presets import load_preset
from drill.voices.people.roster import ROSTER
from phonetics.callsigns import is_unassigned, is_valid


def plan(**choices: object) -> Plan:
    return Plan(**{"seed": 3, "count": 50, **choices})  # type: ignore[arg-type]


def test_the_same_plan_and_number_give_the_same_item() -> None:
    assert compose_item(plan(), 7) == compose_item(plan(), 7)
    assert compose_item(plan(), 7) != compose_item(plan(), 8)
    assert compose_item(plan(), 7) != compose_item(plan(seed=4), 7)


def test_other_voices_and_conditions_leave_the_calls_as_they_are() -> None:
    calls = [compose_item(plan(), n).message.call for n in range(20)]
    others = plan(voices=("birch", "tin"), conditions=load_preset("aurora").conditions, pace=1.4)
    assert [compose_item(others, n).message.call for n in range(20)] == calls


def test_many_operators_speak_and_hard_ones_only_when_asked() -> None:
    drawn = {compose_item(plan(), n).operator.name for n in range(400)}
    soft = {operator.name for operator in ROSTER if not operator.hard}
    assert drawn <= soft
    assert len(drawn) > 0.9 * len(soft)
    only = {compose_item(plan(voices=("birch", "tin")), n).operator.name for n in range(40)}
    assert only == {"birch", "tin"}


def test_pace_multiplies_the_operators_own() -> None:
    slow, usual = compose_item(plan(pace=0.7), 5).operator, compose_item(plan(), 5).operator
    assert slow.pace == pytest.approx(0.7 * usual.pace, abs=1e-3)


def test_mixes_give_their_calls() -> None:
    assert all(is_unassigned(compose_item(plan(mix="unassigned"), n).message.call) for n in range(50))
    assert all(is_valid(compose_item(plan(), n).message.call) for n in range(50))


def test_serial_numbers_rise_with_the_number() -> None:
    def serials(first: int) -> list[int]:
        choice = plan(part="exchange", count=10_000)
        return sorted(
            int(compose_item(choice, n).message.fields[1].text) for n in range(first, first + 40)
        )

    assert serials(0)[20] < serials(2000)[20]


def test_a_plan_survives_json() -> None:
    import json

    choice = plan(voices=("birch",), conditions=Conditions(snr_db=None))
    assert Plan.from_dict(json.loads(json.dumps(choice.to_dict()))) == choice


@pytest.mark.parametrize("alternates", [0.0, 1.0])
def test_the_share_of_alternates_is_kept(alternates: float) -> None:
    said = [w.say for n in range(50) for w in compose_item(plan(alternates=alternates), n).message.words]
    assert ("kilo" in said) == (alternates == 0.0)


def test_bad_choices_name_the_value() -> None:
    with pytest.raises(UserError, match="pace 3 is out of range"):
        plan(pace=3.0)
