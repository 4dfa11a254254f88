"""Session options: the conditions and the plan that they make, and what cannot be combined."""

from dataclasses import fields
from pathlib import Path
from typing import Any

import pytest

from drill.core.errors import UserError
from drill.core.structuring import from_data
from drill.linkbudget.budget import snr_from_watts
from drill.session.absent_voices import MEASUREMENT_OPERATORS
from drill.session.options import (
    DEFAULT_PATH_SNR_DB,
    PLAN_OPTIONS,
    SNR_OPTIONS,
    ComparedOption,
    SessionOptions,
    conditions_from_options,
    operator_names,
    plan_from_options,
    whole_call_plan,
)
from drill.voices.people.roster import ROSTER

EASY_NAMES = {operator.name for operator in ROSTER if not operator.hard}


def test_every_option_belongs_to_the_plan_the_snr_or_one_kind() -> None:
    assert PLAN_OPTIONS | SNR_OPTIONS | {"until_db", "compare"} == {
        field.name for field in fields(SessionOptions)
    }


def test_given_options_are_those_that_differ_from_the_defaults() -> None:
    assert SessionOptions().given == set()
    assert SessionOptions(part="call", pace=1.0).given == set()
    assert SessionOptions(snr_db=0.0, voices=("tin",)).given == {"snr_db", "voices"}


def test_options_come_from_a_form() -> None:
    form: dict[str, Any] = {
        "count": 3,
        "voices": ["tin"],
        "compare": {"option": "fading", "values": ["steady", "fog"]},
    }
    assert from_data(SessionOptions, form) == SessionOptions(
        count=3,
        voices=("tin",),
        compare=ComparedOption(option="fading", values=("steady", "fog")),
    )
    for wrong, field in (
        ({"count": "3"}, "count"),
        ({"voices": ["x"] * 101}, "voices"),
        ({"exchange": "x" * 501}, "exchange"),
        ({"compare": {"values": []}}, "compare.option"),
        ({"volume": 1}, "volume"),
    ):
        with pytest.raises(UserError) as refused:
            from_data(SessionOptions, wrong)
        assert refused.value.field == field


def test_options_replace_parts_of_the_conditions(home: Path) -> None:
    options = SessionOptions(
        conditions="town-evening",
        fading="mid-disturbed",
        filter="1800+200",
        processing="clipped",
        off_frequency_hz=50.0,
        static_db=6.0,
        snr_db=-2.0,
    )
    conditions = conditions_from_options(options)
    assert conditions.fading.name == "mid-disturbed"
    assert (conditions.receiver.width_hz, conditions.receiver.shift_hz) == (1800, 200)
    assert conditions.transmitter.processing == "clipped"
    assert conditions.transmitter.off_frequency_hz == 50.0
    assert conditions.noise.vd_db == 6.0
    assert conditions.snr_db == -2.0


@pytest.mark.parametrize(
    ("options", "snr_db"),
    [
        (SessionOptions(), 0.0),
        (SessionOptions(snr_db=3.5), 3.5),
        (SessionOptions(no_noise=True), None),
        (SessionOptions(watts=5.0), round(snr_from_watts(DEFAULT_PATH_SNR_DB, 5.0), 2)),
        (SessionOptions(watts=5.0, path_snr_db=0.0), -13.01),
    ],
)
def test_the_snr_comes_from_one_of_four_options(
    options: SessionOptions, snr_db: float | None, home: Path
) -> None:
    """5 W after 100 W are 10 lg 0.05 = -13.01 dB."""
    assert conditions_from_options(options).snr_db == snr_db


@pytest.mark.parametrize(
    ("options", "message", "field"),
    [
        (SessionOptions(snr_db=3.0, watts=5.0), "give only one of them", "watts"),
        (SessionOptions(no_noise=True, watts=5.0), "give only one of them", "watts"),
        (SessionOptions(path_snr_db=5.0), "needs a power in watts", "path_snr_db"),
    ],
)
def test_options_that_contradict_are_refused(
    options: SessionOptions, message: str, field: str, home: Path
) -> None:
    with pytest.raises(UserError, match=message) as refused:
        conditions_from_options(options)
    assert refused.value.field == field
    assert "--" not in str(refused.value)


def test_a_plan_has_a_new_seed_and_the_default_count_if_none_are_given(home: Path) -> None:
    seeds = {plan_from_options(SessionOptions(voices=("tin",))).seed for _ in range(5)}
    assert len(seeds) > 1
    plan = plan_from_options(SessionOptions(voices=("tin",), seed=3), default_count=7)
    assert (plan.seed, plan.count) == (3, 7)


@pytest.mark.parametrize("names", [("bundled",), ("slate", "bundled"), ("natural", "formant")])
def test_groups_are_expanded_to_the_names_of_their_members(
    names: tuple[str, ...], home: Path
) -> None:
    found = operator_names(names)
    assert set(found) == EASY_NAMES
    assert len(found) == len(EASY_NAMES)


def test_only_whole_calls_are_measured(home: Path) -> None:
    assert whole_call_plan(SessionOptions(), default_count=9).voices == MEASUREMENT_OPERATORS
    with pytest.raises(UserError, match="part 'over' cannot be measured") as refused:
        whole_call_plan(SessionOptions(part="over"), default_count=9)
    assert refused.value.field == "part"


def test_an_unknown_operator_is_an_error_of_the_voices(home: Path) -> None:
    with pytest.raises(UserError, match="'nobody'") as refused:
        operator_names(["tin", "nobody"])
    assert refused.value.field == "voices"
