"""The trainee's own call and exchange: errors name the field, and valid values are stored."""

from pathlib import Path

import pytest

from drill.core.errors import UserError
from drill.records.store import Store
from drill.sending.own_station import (
    load_own_station,
    make_own_station,
    stored_own_station,
    update_own_station,
)
from phonetics.exchanges import load_exchange


def test_case_and_spaces_of_a_call_do_not_matter() -> None:
    assert make_own_station(" e87 abc ", load_exchange("serial")).call.text == "E87ABC"


def test_text_that_is_not_a_call_is_refused() -> None:
    with pytest.raises(UserError, match="own call: 'HELLO'") as caught:
        make_own_station("HELLO", load_exchange("serial"))
    assert caught.value.field == "call"


def test_an_unknown_exchange_is_refused(tmp_path: Path) -> None:
    with pytest.raises(UserError, match="no-such") as caught:
        load_own_station("E87ABC", "no-such", tmp_path)
    assert caught.value.field == "exchange"


def test_call_and_exchange_are_stored_once_given(tmp_path: Path) -> None:
    with Store(tmp_path / "record") as store:
        assert stored_own_station(store) == (None, "serial")
        with pytest.raises(UserError, match="not set") as caught:
            update_own_station(store, None, None, tmp_path)
        assert (caught.value.field, caught.value.kind) == ("call", "missing")
        update_own_station(store, "e87abc", "zone-itu", tmp_path)
        station = update_own_station(store, None, None, tmp_path)
        assert (station.call.text, station.exchange.name) == ("E87ABC", "zone-itu")
    with Store(tmp_path / "record") as store:
        update_own_station(store, "E87ABD", None, tmp_path)
        assert stored_own_station(store) == ("E87ABD", "zone-itu")


def test_a_refused_call_changes_nothing(tmp_path: Path) -> None:
    with Store(tmp_path / "record") as store:
        update_own_station(store, "E87ABC", "serial", tmp_path)
        with pytest.raises(UserError):
            update_own_station(store, "HELLO", "zone-itu", tmp_path)
        assert stored_own_station(store) == ("E87ABC", "serial")
