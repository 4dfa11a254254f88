"""Settings in the record: their defaults, their checks, and their names in version 0.2.0."""

from pathlib import Path
from typing import Any

import pytest

from drill.core.errors import UserError
from drill.core.paths import record_file
from drill.records.store import Store
from drill.session.settings import change_settings, known_settings, setting_values


def test_settings_have_their_defaults_until_they_are_changed(home: Path) -> None:
    with Store(record_file()) as store:
        assert setting_values(store) == {
            name: setting.default for name, setting in known_settings().items()
        }
        change_settings(store, {"volume": 1, "scheme": "dark"})
        values = setting_values(store)
    assert (values["volume"], values["scheme"], values["speech_side"]) == (1.0, "dark", "both")


@pytest.mark.parametrize(
    ("values", "message", "field"),
    [
        ({"volume": 0.1, "scheme": "red"}, "scheme 'red' is unknown", "scheme"),
        ({"volume": 1.01}, "volume 1.01 is out of range; allowed are 0 to 1", "volume"),
        ({"volume": True}, "volume has to be a number", "volume"),
        ({"auto_next_s": -1}, "auto_next_s -1 is out of range", "auto_next_s"),
        ({"speech_side": ["left"]}, "choose one of both, left, right", "speech_side"),
        ({"last_practice": 3}, "last_practice has to be a table", "last_practice"),
        ({"last_practice": {"mix": "y" * 9000}}, "at most 8000", "last_practice"),
        ({"last_practice": {"call": "E8ABC"}}, "'last_practice.call'", "last_practice.call"),
        ({"colour": 1}, "unknown entry 'colour'", "colour"),
    ],
)
def test_wrong_settings_change_nothing(
    values: dict[str, Any], message: str, field: str, home: Path
) -> None:
    with Store(record_file()) as store:
        before = setting_values(store)
        with pytest.raises(UserError, match=message) as refused:
            change_settings(store, values)
        assert refused.value.field == field
        assert setting_values(store) == before


@pytest.mark.parametrize("text", ["{", '"red"', "[" * 5000, "null", "NaN"])
def test_a_stored_value_that_cannot_be_used_counts_as_the_default(text: str, home: Path) -> None:
    with Store(record_file()) as store:
        store.set_setting("volume", text)
        store.set_setting("scheme", text)
        values = setting_values(store)
    assert (values["volume"], values["scheme"]) == (0.5, "system")


@pytest.mark.parametrize(
    ("name", "stored_name"),
    [
        ("last_practice", "last_practice"),
        ("last_training", "last_training"),
        ("last_measurement", "last_measuring"),
        ("last_quick-check", "last_quick"),
        ("last_comparison", "last_comparing"),
    ],
)
def test_the_last_form_of_a_kind_has_the_stored_name_of_0_2_0(
    name: str, stored_name: str, home: Path
) -> None:
    with Store(record_file()) as store:
        change_settings(store, {name: {"count": 7}})
        assert store.setting(stored_name) == '{"count": 7}'
        assert setting_values(store)[name] == {"count": 7}
        change_settings(store, {name: None})
        assert setting_values(store)[name] is None
