import pytest

from drill.contact.values import load_values, recorded_values
from drill.core.errors import UserError
from drill.core.structuring import to_data


def test_the_packaged_values_are_the_recommended_ones() -> None:
    values = load_values()
    assert values.ears.wrong_in_noise == 0.05
    assert values.ears.wrong_under_voices == 0.10
    assert values.ears.lapse == 0.004
    assert (values.far.max_asks, values.far.correction_votes) == (3, 1)
    assert values.far.longest_wait_s == 6.0
    assert values.station.noise_mean_db == 6.0


def test_single_values_can_be_changed() -> None:
    assert load_values({"far.max_asks": 2}).far.max_asks == 2


def test_an_older_record_may_lack_values_and_have_others() -> None:
    data = to_data(load_values({"far.max_asks": 2}))
    del data["recogniser"], data["far"]["identifies"]
    data["far"]["dropped"] = 1
    values = recorded_values(data)
    assert values.far.max_asks == 2
    assert values.recogniser == load_values().recogniser


def test_an_unknown_value_is_refused() -> None:
    with pytest.raises(UserError, match=r"far\.max_ask"):
        load_values({"far.max_ask": 2})
