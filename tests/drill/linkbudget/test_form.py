"""The form: defaults, alternatives that exclude each other, and the field of every mistake."""

import math
import re
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drill.core.errors import UserError
from drill.linkbudget.antennas import radiation_resistance_ohm, shortening_loss_db
from drill.linkbudget.budget import LinkEnd, link_budget
from drill.linkbudget.form import (
    FORM_NUMBERS,
    NOISE_PLACES,
    S_READING_FIELD,
    circuit_from_form,
)
from drill.linkbudget.s_meter import path_snr_from_s


def test_an_empty_form_has_the_defaults() -> None:
    circuit = circuit_from_form({})
    assert circuit == circuit_from_form(dict.fromkeys([*FORM_NUMBERS, *NOISE_PLACES]))
    assert circuit.here == LinkEnd(watts=5, noise_category="quiet-rural")
    assert circuit.there == LinkEnd(watts=100, noise_category="residential")
    assert (circuit.frequency_mhz, circuit.path_snr_db) == (14.2, 10)


def test_every_number_reaches_its_place() -> None:
    circuit = circuit_from_form(
        {
            "watts": 7,
            "far_watts": 8,
            "frequency": 21,
            "path_snr": -3,
            "antenna": 1,
            "far_antenna": 2,
            "short": 3,
            "line": 4,
            "atmospheric": 50,
            "here": "city",
            "there": "rural",
        }
    )
    assert circuit.here == LinkEnd(
        watts=7,
        antenna_db=1,
        shortening_loss_db=3,
        line_loss_db=4,
        noise_category="city",
        atmospheric_db=50,
    )
    assert circuit.there == LinkEnd(
        watts=8, antenna_db=2, noise_category="rural", atmospheric_db=50
    )
    assert (circuit.frequency_mhz, circuit.path_snr_db) == (21, -3)


def test_losses_and_path_can_be_given_by_their_causes() -> None:
    circuit = circuit_from_form(
        {
            "wire_length": 2,
            "loss_ohms": 15,
            "line_length": 50,
            "line_loss": 4,
            "path_s": "9+10",
            "there": "rural",
        }
    )
    expected_db = shortening_loss_db(radiation_resistance_ohm(2, 14.2), 15)
    assert circuit.here.shortening_loss_db == pytest.approx(expected_db)
    assert circuit.here.line_loss_db == pytest.approx(2)
    assert circuit.path_snr_db == path_snr_from_s("9+10", LinkEnd(noise_category="rural"), 14.2)


@pytest.mark.parametrize(
    ("values", "field", "message"),
    [
        ({"watts": 3000}, "watts", "my power 3000 W is out of range; allowed are 0.001 to 2000 W"),
        ({"watts": "5"}, "watts", "my power has to be a number from 0.001 to 2000 W, not '5'"),
        ({"watts": True}, "watts", "my power has to be a number from 0.001 to 2000 W, not true"),
        ({"far_watts": math.nan}, "far_watts", "power of the far station nan W is out of range"),
        ({"frequency": 50}, "frequency", "allowed are 0.3 to 30 MHz"),
        ({"path_snr": math.inf}, "path_snr", "SNR of the path inf dB is out of range"),
        ({"antenna": 99}, "antenna", "99 dB is out of range; allowed are -40 to 40 dB"),
        ({"short": -1}, "short", "shortening loss -1 dB is out of range"),
        ({"path_s": "ten"}, "path_s", "'ten' is not an S reading"),
        ({"path_s": 7}, "path_s", "S reading has to be text, not 7"),
        ({"path_s": "7", "path_snr": 10}, "path_s", "not both"),
        ({"wire_length": 9}, "wire_length", "out of range at 14.2 MHz"),
        ({"wire_length": 2, "short": 1}, "short", "not both"),
        ({"wire_length": 1, "loss_ohms": -1}, "loss_ohms", "loss resistance -1 ohm"),
        ({"line_length": 2}, "line_loss", "together"),
        ({"line_loss": 2}, "line_length", "together"),
        ({"line_length": 2, "line_loss": 1, "line": 0}, "line", "not both"),
        ({"line_length": 2000, "line_loss": 1}, "line_length", "length of the feed line 2000 m"),
        ({"here": "moon"}, "here", "choose one of city, residential, rural, quiet-rural"),
        ({"atmospheric": 500}, "atmospheric", "atmospheric noise 500 dB is out of range"),
        ({"power": 5}, "power", "unknown entry 'power'; allowed are watts, far_watts"),
    ],
)
def test_a_mistake_names_its_field(values: dict[str, Any], field: str, message: str) -> None:
    with pytest.raises(UserError, match=re.escape(message)) as caught:
        circuit_from_form(values)
    assert caught.value.field == field


@given(
    st.dictionaries(
        st.sampled_from([*FORM_NUMBERS, *NOISE_PLACES, S_READING_FIELD]),
        st.none() | st.floats() | st.text(max_size=5) | st.sampled_from(["city", "9+10"]),
    )
)
def test_any_values_give_a_budget_or_one_line(values: dict[str, Any]) -> None:
    try:
        budget = link_budget(circuit_from_form(values))
    except UserError as error:
        assert len(str(error).splitlines()) == 1
        assert error.field in values or error.field in FORM_NUMBERS
        return
    assert math.isfinite(budget.mine_there.snr_db)
    assert math.isfinite(budget.theirs_here.snr_db)
