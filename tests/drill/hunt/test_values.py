"""The parameters of a hunt, and its presets."""

import pytest

from drill.core.errors import UserError
from drill.core.structuring import to_data
from drill.hunt.values import band_kinds, find_band_kind, load_hunt_values, recorded_hunt_values


def test_the_presets_have_a_sentence_and_a_plausible_size() -> None:
    assert set(band_kinds()) == {"jammed", "open", "nearly-dead", "closing"}
    for name, kind in band_kinds().items():
        assert kind.name == name
        assert kind.sentence.endswith(".")
        assert 30 <= kind.width_khz <= 150
        # Common practice, no source: 2 to 3 kHz between stations on a jammed band, 5 to 10 kHz on
        # an open one.
        spacing_khz = kind.width_khz / kind.stations
        assert 2 <= spacing_khz <= 3 if name == "jammed" else spacing_khz >= 5


def test_an_unknown_preset_is_refused_by_name() -> None:
    with pytest.raises(UserError, match="'quiet'"):
        find_band_kind("quiet")


def test_recorded_parameters_are_read_back() -> None:
    values = load_hunt_values()
    data = to_data(values)
    assert recorded_hunt_values(data) == values
    data["world"]["stays_s"] = 100.0
    data["hunter"]["gone_since"] = 1
    del data["world"]["free_s"]
    recorded = recorded_hunt_values(data)
    assert recorded.world.stays_s == 100.0
    assert recorded.world.free_s == values.world.free_s


def test_a_recorded_parameter_of_a_wrong_type_is_refused() -> None:
    data = to_data(load_hunt_values())
    data["world"]["stays_s"] = "long"
    with pytest.raises(UserError, match=r"world\.stays_s"):
        recorded_hunt_values(data)
