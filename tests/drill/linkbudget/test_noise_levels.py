"""Sums of external noise; tests/outside/test_p372.py compares them with published figures."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drill.core.errors import UserError
from drill.linkbudget.noise_levels import (
    ExternalNoise,
    combine_noise,
    external_noise,
    galactic_noise,
    man_made_noise,
    system_noise_figure_db,
)
from tests.drill.linkbudget.circuits import CATEGORIES, FREQUENCIES_MHZ


@given(FREQUENCIES_MHZ, st.floats(-40, 120))
def test_a_sum_is_never_below_its_parts(frequency_mhz: float, atmospheric_db: float) -> None:
    parts = [
        ExternalNoise(median_db=atmospheric_db),
        ExternalNoise(median_db=galactic_noise(frequency_mhz).median_db),
    ]
    total = combine_noise(parts)
    assert total.median_db >= max(part.median_db for part in parts) - 1e-9
    assert combine_noise(parts[::-1]).median_db == pytest.approx(total.median_db)


@given(CATEGORIES, FREQUENCIES_MHZ)
def test_the_sum_of_one_noise_is_that_noise(category: str, frequency_mhz: float) -> None:
    noise = man_made_noise(category, frequency_mhz)
    total = combine_noise([noise])
    assert total.median_db == pytest.approx(noise.median_db)
    assert total.upper_db == pytest.approx(noise.upper_db)
    assert total.lower_db == pytest.approx(noise.lower_db)


def test_atmospheric_noise_counts_only_if_it_is_given() -> None:
    assert external_noise("rural", 3.5, 90).median_db == pytest.approx(90, abs=0.01)
    without = external_noise("rural", 3.5).median_db
    assert external_noise("rural", 3.5, 90).median_db > without + 30


@pytest.mark.parametrize("frequency_mhz", [0.29, 30.1, 144, float("nan")])
def test_a_frequency_out_of_range_is_rejected(frequency_mhz: float) -> None:
    message = r"MHz is out of range; allowed are 0\.3 to 30 MHz"
    with pytest.raises(UserError, match=message):
        man_made_noise("city", frequency_mhz)


def test_an_unknown_category_lists_the_known_ones() -> None:
    message = "'moon' is unknown; choose one of city, residential, rural, quiet-rural"
    with pytest.raises(UserError, match=message):
        external_noise("moon", 14)


def test_an_impossible_noise_figure_is_rejected() -> None:
    with pytest.raises(UserError, match="noise figure 500 dB is out of range"):
        external_noise("rural", 14, 500)
    with pytest.raises(UserError, match="upper decile 13 dB is out of range"):
        ExternalNoise(median_db=60, upper_db=13)
    with pytest.raises(UserError, match="noise figure of the receiver 61 dB"):
        system_noise_figure_db(30, antenna_loss_db=0, line_loss_db=0, receiver_db=61)
