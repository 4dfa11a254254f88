"""/api/settings."""

from typing import Any

import pytest
from starlette.testclient import TestClient

from drill.core.paths import record_file
from drill.records.store import Store
from drill.session.settings import known_settings
from tests.web.client import logged_in_client


def test_saved_settings_are_returned_and_kept(client: TestClient) -> None:
    values = {"volume": 1, "scheme": "dark"}
    saved = client.post("/api/settings", json={"values": values}).json()
    assert (saved["values"]["volume"], saved["values"]["scheme"]) == (1.0, "dark")
    assert set(saved["says"]) == set(saved["values"]) == set(known_settings())
    assert logged_in_client().get("/api/settings").json()["values"] == saved["values"]


@pytest.mark.parametrize(
    ("values", "field", "message"),
    [
        ({"volume": 0.1, "scheme": "red"}, "scheme", "scheme 'red' is unknown"),
        ({"volume": 1.01}, "volume", "volume 1.01 is out of range; allowed are 0 to 1"),
        ({"volume": True}, "volume", "volume has to be a number"),
        ({"auto_next_s": -1}, "auto_next_s", "auto_next_s -1 is out of range"),
        ({"speech_side": ["left"]}, "speech_side", "choose one of both, left, right"),
        ({"last_practice": 3}, "last_practice", "has to be a table"),
        ({"last_practice": {"mix": "y" * 9000}}, "last_practice", "at most 8000"),
        (
            {"last_practice": {"call": "E8ABC"}},
            "last_practice.call",
            "unknown entry 'last_practice.call'",
        ),
        ({"colour": 1}, "colour", "unknown entry 'colour'"),
    ],
)
def test_wrong_setting_is_refused_and_none_is_saved(
    client: TestClient, values: dict[str, Any], field: str, message: str
) -> None:
    before = client.get("/api/settings").json()["values"]
    response = client.post("/api/settings", json={"values": {"auto_next_s": 5, **values}})
    assert response.status_code == 400
    assert message in response.json()["error"]
    assert response.json()["field"] == field
    assert client.get("/api/settings").json()["values"] == before


def test_damaged_setting_has_its_default(client: TestClient) -> None:
    with Store(record_file()) as store:
        store.set_setting("volume", "{")
        store.set_setting("scheme", '"red"')
    values = client.get("/api/settings").json()["values"]
    assert (values["volume"], values["scheme"]) == (0.5, "system")
