"""The set-up of a hunt: its values, options and errors."""

import json
from dataclasses import replace

import pytest

from drill.core.errors import UserError
from drill.hunt.setup import HuntOptions, HuntSetup, create_hunt_setup
from drill.session.options import SessionOptions
from tests.drill.hunt.simple_hunter import make_setup

OPTIONS = SessionOptions(seed=5, voices=("birch",))


def test_a_stored_set_up_is_read_back() -> None:
    setup = create_hunt_setup(OPTIONS, HuntOptions(bands=("jammed", "open"), voice="birch"))
    data = json.loads(json.dumps(setup.to_dict()))
    assert HuntSetup.from_dict(setup.plan.to_dict(), data) == setup


def test_options_that_a_hunt_does_not_take_are_refused() -> None:
    for options in (replace(OPTIONS, count=3), replace(OPTIONS, snr_db=0.0)):
        with pytest.raises(UserError, match="a hunt does not take"):
            create_hunt_setup(options, HuntOptions(voice="birch"))


@pytest.mark.parametrize(
    ("choice", "message"),
    [
        (HuntOptions(minutes=5.0), "length 5 min"),
        (HuntOptions(minutes=500.0), "length 500 min"),
        (HuntOptions(bands=()), "0 bands"),
        (HuntOptions(bands=("open",) * 4), "4 bands"),
        (HuntOptions(bands=("quiet",)), "'quiet'"),
        (HuntOptions(weekend=2.0), "2"),
        (HuntOptions(call="Q1"), "own call"),
    ],
)
def test_wrong_choices_are_refused_by_value(choice: HuntOptions, message: str) -> None:
    with pytest.raises(UserError, match=message):
        create_hunt_setup(OPTIONS, replace(choice, voice="birch"))


def test_the_serial_number_of_the_trainee_rises_and_nothing_else_changes() -> None:
    setup = make_setup()
    texts = [[field.text for field in setup.own_speaker(n).fields] for n in (0, 1, 41)]
    assert texts == [["59", "001"], ["59", "002"], ["59", "042"]]
