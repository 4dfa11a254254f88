import pytest

from drill.contact.values import load_values
from drill.core.errors import UserError


def test_the_recommended_figures_apply() -> None:
    values = load_values()
    assert values.ears.wrong_in_noise == 0.05
    assert values.ears.wrong_under_voices == 0.10
    assert values.ears.lapse == 0.004
    assert (values.far.max_asks, values.far.correction_votes) == (3, 1)
    assert values.far.longest_wait_s == 6.0
    assert values.station.noise_mean_db == 6.0


def test_single_figures_can_be_changed() -> None:
    assert load_values({"far.max_asks": 2}).far.max_asks == 2


def test_an_unknown_figure_is_refused() -> None:
    with pytest.raises(UserError, match=r"far\.max_ask"):
        load_values({"far.max_ask": 2})
