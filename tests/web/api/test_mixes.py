"""/api/mixes: learning from an uploaded log, without keeping a call of it."""

import re
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from drill.callmix.storage import find_learned_mix
from drill.web.body_rules import MIXES_PATH
from tests.drill.callmix.invented_logs import cabrillo_text, invented_calls

LOG = {"content-type": "application/octet-stream"}


@pytest.fixture(scope="module")
def worked() -> list[str]:
    return invented_calls(300)


def test_a_mix_is_learned_and_keeps_no_call(
    client: TestClient, worked: list[str], home: Path
) -> None:
    log = cabrillo_text(worked).encode()
    reply = client.post(MIXES_PATH, params={"name": "spring"}, content=log, headers=LOG)
    assert reply.status_code == 200, reply.text
    assert reply.json()["names"] == ["spring"]
    assert reply.json()["says"][0].startswith("300 contacts. Mix spring")
    (path,) = (home / "data" / "mixes").iterdir()
    runs = set(re.findall("[A-Za-z0-9/]+", path.read_text("utf-8")))
    assert not runs & set(worked)
    assert find_learned_mix("spring") is not None
    names = [entry["name"] for entry in client.get("/api/choices").json()["mixes"]]
    assert "spring" in names


def test_a_mix_is_replaced_only_on_request(client: TestClient, worked: list[str]) -> None:
    log = cabrillo_text(worked).encode()
    query = {"name": "spring"}
    assert client.post(MIXES_PATH, params=query, content=log, headers=LOG).status_code == 200
    again = client.post(MIXES_PATH, params=query, content=log, headers=LOG)
    assert again.json()["error"] == "a mix 'spring' already exists"
    query["replace"] = "yes"
    assert client.post(MIXES_PATH, params=query, content=log, headers=LOG).status_code == 200


@pytest.mark.parametrize(
    ("query", "content", "message"),
    [
        ({}, b"x", "name is missing"),
        ({"name": "../x"}, b"x", "cannot be the name of a mix"),
        ({"name": "spring"}, b"x", "the log is neither an ADI file"),
        ({"name": "spring", "replace": "perhaps"}, b"x", "replace 'perhaps' is unknown"),
        ({"name": "spring"}, cabrillo_text(invented_calls(3)).encode(), "at least 50"),
    ],
)
def test_a_wrong_request_is_refused(
    client: TestClient, query: dict[str, str], content: bytes, message: str
) -> None:
    response = client.post(MIXES_PATH, params=query, content=content, headers=LOG)
    assert response.status_code == 400
    assert message in response.json()["error"]
    assert "/tmp" not in response.json()["error"]
    assert client.get(MIXES_PATH).json()["names"] == []
