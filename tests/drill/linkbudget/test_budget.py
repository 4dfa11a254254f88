"""The two directions of a circuit: what each value changes, and what it does not."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drill.core.errors import UserError
from drill.linkbudget.budget import (
    Circuit,
    LinkEnd,
    link_budget,
    reception_cost_db,
    snr_from_watts,
)
from drill.linkbudget.noise_levels import external_noise
from tests.drill.linkbudget.circuits import CATEGORIES, CIRCUITS, FREQUENCIES_MHZ


@given(CIRCUITS)
def test_twice_the_power_adds_3_db_there_and_changes_nothing_here(circuit: Circuit) -> None:
    louder = replace(circuit, here=replace(circuit.here, watts=2 * circuit.here.watts))
    before, after = link_budget(circuit), link_budget(louder)
    assert after.mine_there.snr_db - before.mine_there.snr_db == pytest.approx(3.0103, abs=1e-4)
    assert after.theirs_here == before.theirs_here


@given(CIRCUITS)
def test_equal_stations_receive_each_other_equally(circuit: Circuit) -> None:
    budget = link_budget(replace(circuit, here=circuit.there))
    assert budget.mine_there == budget.theirs_here


@given(FREQUENCIES_MHZ, st.floats(-60, 90), CATEGORIES)
def test_reference_stations_have_the_snr_of_the_path(
    frequency_mhz: float, path_snr_db: float, category: str
) -> None:
    circuit = Circuit(
        here=LinkEnd(noise_category="city"),
        there=LinkEnd(noise_category=category),
        frequency_mhz=frequency_mhz,
        path_snr_db=path_snr_db,
    )
    assert link_budget(circuit).mine_there.snr_db == pytest.approx(path_snr_db)


@given(CIRCUITS, st.floats(0.1, 10))
def test_antenna_gain_counts_in_both_directions(circuit: Circuit, more_db: float) -> None:
    here = replace(circuit.here, antenna_db=circuit.here.antenna_db / 2)
    before = link_budget(replace(circuit, here=here))
    better = replace(here, antenna_db=here.antenna_db + more_db)
    after = link_budget(replace(circuit, here=better))
    assert after.mine_there.snr_db - before.mine_there.snr_db == pytest.approx(more_db)
    assert after.theirs_here.snr_db - before.theirs_here.snr_db == pytest.approx(more_db)


@given(CIRCUITS, st.floats(0.1, 20))
def test_a_loss_counts_fully_on_transmit_and_at_most_fully_on_receive(
    circuit: Circuit, loss_db: float
) -> None:
    without = replace(circuit.here, line_loss_db=0)
    before = link_budget(replace(circuit, here=without))
    after = link_budget(replace(circuit, here=replace(without, line_loss_db=loss_db)))
    assert before.mine_there.snr_db - after.mine_there.snr_db == pytest.approx(loss_db)
    # A receiver factor fr behind a loss lt: fa - 1 + lt fr is at most lt (fa - 1 + fr) if fa >= 1.
    external = external_noise(without.noise_category, circuit.frequency_mhz, without.atmospheric_db)
    if external.median_db >= 0:
        cost_db = before.theirs_here.snr_db - after.theirs_here.snr_db
        assert 0 < cost_db <= loss_db + 1e-9 or cost_db == pytest.approx(0, abs=1e-6)


def test_antenna_losses_hardly_matter_on_receive_while_external_noise_dominates() -> None:
    lossy = LinkEnd(noise_category="city", shortening_loss_db=10)
    assert 0 < reception_cost_db(lossy, 3.5) < 0.1
    assert reception_cost_db(replace(lossy, noise_category="quiet-rural"), 28) > 3


def test_a_station_in_a_quiet_place_receives_better_than_it_is_received() -> None:
    circuit = Circuit(
        here=LinkEnd(noise_category="quiet-rural"),
        there=LinkEnd(noise_category="residential"),
        frequency_mhz=7,
        path_snr_db=10,
    )
    budget = link_budget(circuit)
    assert budget.theirs_here.snr_db > budget.mine_there.snr_db + 10


@pytest.mark.parametrize("watts", [0, -5, 2001, 0.0009, float("nan"), float("inf")])
def test_a_power_out_of_range_is_rejected(watts: float) -> None:
    message = r"power .* W is out of range; allowed are 0\.001 to 2000 W"
    with pytest.raises(UserError, match=message) as caught:
        snr_from_watts(0, watts)
    assert (caught.value.field, caught.value.kind) == ("watts", "out_of_range")


@pytest.mark.parametrize(
    ("values", "field"),
    [
        ({"watts": 3000}, "watts"),
        ({"antenna_db": 41}, "antenna_db"),
        ({"shortening_loss_db": -1}, "shortening_loss_db"),
        ({"line_loss_db": 61}, "line_loss_db"),
    ],
)
def test_a_station_out_of_range_is_rejected(values: dict[str, float], field: str) -> None:
    with pytest.raises(UserError) as caught:
        LinkEnd(**values)  # type: ignore[arg-type]
    assert caught.value.field == field


def test_an_impossible_path_is_rejected() -> None:
    with pytest.raises(UserError, match="SNR of the path 151 dB is out of range"):
        Circuit(here=LinkEnd(), there=LinkEnd(), frequency_mhz=14, path_snr_db=151)
