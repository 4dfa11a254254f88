"""A plan and a number determine the item."""

import json
import random

import pytest

from drill.callmix.learn import learn_mix
from drill.core.conditions import Conditions
from drill.core.errors import UserError
from drill.core.structuring import from_data, to_data
from drill.items.plan import Plan, compose_item, conditions_from_plan_data
from drill.radio.presets import load_preset, parse_fading
from drill.voices.people.roster import ROSTER
from phonetics.callsigns import is_unassigned_callsign, is_valid_callsign


def plan(**choices: object) -> Plan:
    return Plan(**{"seed": 3, "count": 50, **choices})  # type: ignore[arg-type]


def test_the_same_plan_and_number_give_the_same_item() -> None:
    assert compose_item(plan(), 7) == compose_item(plan(), 7)
    assert compose_item(plan(), 7) != compose_item(plan(), 8)
    assert compose_item(plan(), 7) != compose_item(plan(seed=4), 7)


def test_other_operators_and_conditions_do_not_change_the_calls() -> None:
    calls = [compose_item(plan(), number).message.call for number in range(20)]
    other = plan(voices=("birch", "tin"), conditions=load_preset("aurora").conditions, pace=1.4)
    assert [compose_item(other, number).message.call for number in range(20)] == calls


def test_hard_operators_speak_only_if_named() -> None:
    everyone = plan(voices=("bundled",))
    drawn = {compose_item(everyone, number).operator.name for number in range(400)}
    easy = {operator.name for operator in ROSTER if not operator.hard}
    assert drawn <= easy
    assert len(drawn) > 0.9 * len(easy)
    hard = next(operator.name for operator in ROSTER if operator.hard)
    named = plan(voices=("birch", hard))
    assert {compose_item(named, number).operator.name for number in range(40)} == {"birch", hard}


def test_the_pace_multiplies_the_operators_own() -> None:
    slow, usual = compose_item(plan(pace=0.7), 5).operator, compose_item(plan(), 5).operator
    assert slow.pace == pytest.approx(0.7 * usual.pace, abs=1e-3)


def test_a_mix_determines_the_calls() -> None:
    def calls(mix: str) -> list[str]:
        return [compose_item(plan(mix=mix), number).message.call for number in range(50)]

    assert all(is_unassigned_callsign(call) for call in calls("unassigned"))
    assert all(is_valid_callsign(call) for call in calls("world"))


def test_serial_numbers_rise_with_the_item_number() -> None:
    def serials(first: int) -> list[int]:
        exchanges = plan(part="exchange", count=10_000)
        return sorted(
            int(compose_item(exchanges, number).message.fields[1].text)
            for number in range(first, first + 40)
        )

    assert serials(0)[20] < serials(2000)[20]


@pytest.mark.parametrize("alternates", [0.0, 1.0])
def test_the_share_of_alternates_is_obeyed(alternates: float) -> None:
    words = [
        word.say
        for number in range(50)
        for word in compose_item(plan(alternates=alternates), number).message.words
    ]
    assert ("kilo" in words) == (alternates == 0.0)


def test_every_neighbour_has_a_transmission_of_its_own() -> None:
    busy = load_preset("busy-weekend").conditions
    item = compose_item(plan(conditions=busy, mix="unassigned"), 0)
    assert len(item.neighbours) == len(busy.neighbours) == 3
    calls = {item.message.call, *(neighbour.message.call for neighbour in item.neighbours)}
    assert len(calls) == 4
    assert from_data(type(item), json.loads(json.dumps(to_data(item)))) == item


def test_a_plan_survives_json() -> None:
    rng = random.Random(1)
    calls = [compose_item(plan(seed=seed), 0).message.call for seed in range(80)]
    mix = learn_mix("mine", [call for call in calls if "/" not in call], [])
    for choices in (
        {"voices": ("birch",), "conditions": Conditions(snr_db=None)},
        {"conditions": load_preset("busy-weekend").conditions, "part": "over"},
        {"mix": "mine", "learned": mix, "alternates": 0.25, "seed": rng.getrandbits(63)},
    ):
        original = plan(**choices)
        assert Plan.from_dict(json.loads(json.dumps(original.to_dict()))) == original


def test_a_plan_of_version_0_1_is_read() -> None:
    """Version 0.1 stored the SNR and the name of the fading in place of the conditions."""
    data = {"snr_db": None, "fading": "high-moderate"}
    conditions = Conditions(snr_db=None, fading=parse_fading("high-moderate"))
    assert conditions_from_plan_data(data) == conditions
    assert Plan.from_dict({"seed": 3, "voices": [], **data}) == Plan(
        seed=3, conditions=conditions, voices=("bundled",)
    )


@pytest.mark.parametrize(
    ("choices", "message", "field"),
    [
        ({"pace": 3.0}, "pace 3 is out of range; allowed are 0.6 to 1.8", "pace"),
        ({"part": "half"}, "part 'half' is unknown; choose one of call, exchange, over", "part"),
        ({"mix": "mars"}, "mix 'mars' is unknown; choose one of world", "mix"),
        ({"count": 0}, "count 0 is out of range; allowed are 1 to 100000", "count"),
        ({"seed": -1}, "seed -1 is out of range", "seed"),
        ({"seed": 1.5}, "seed has to be a whole number", "seed"),
        ({"alternates": 1.5}, "share of alternates 1.5 is out of range", "alternates"),
        ({"exchange": "nothing"}, "unknown exchange 'nothing'", "exchange"),
        ({"voices": ("nobody",)}, "'nobody'", None),
    ],
)
def test_a_wrong_choice_is_refused(
    choices: dict[str, object], message: str, field: str | None
) -> None:
    with pytest.raises(UserError, match=message) as caught:
        plan(**choices)
    assert field is None or caught.value.field == field


def test_a_wrong_entry_of_stored_conditions_is_named() -> None:
    data = {**plan().to_dict(), "conditions": {"noise": {"vd_db": 99}}}
    with pytest.raises(UserError, match="Vd 99 dB is out of range") as caught:
        Plan.from_dict(data)
    assert caught.value.field == "conditions.noise.vd_db"
