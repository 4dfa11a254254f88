"""/api/again: pages that were open before a restart."""

import pytest
from starlette.testclient import TestClient

from tests.web.client import ORIGIN, TOKEN, anonymous_client

PREVIOUS_TOKEN = "o" * 43
pytestmark = pytest.mark.usefixtures("home")


def page_before_restart(previous_token: str | None) -> TestClient:
    """Return a client without a valid cookie that sends requests as the page does."""
    client = anonymous_client(previous_token)
    client.headers.update(ORIGIN)
    return client


def test_page_of_the_previous_run_gets_a_new_cookie() -> None:
    client = page_before_restart(PREVIOUS_TOKEN)
    for wrong in ("", "x", PREVIOUS_TOKEN[:-1], TOKEN[:-1]):
        response = client.post("/api/again", json={"token": wrong})
        assert response.status_code == 403
        assert "set-cookie" not in response.headers
    assert client.get("/api/settings").status_code == 403
    response = client.post("/api/again", json={"token": PREVIOUS_TOKEN})
    assert response.json() == {"token": TOKEN}
    assert client.get("/api/settings").status_code == 200


def test_first_run_accepts_no_other_token_than_its_own() -> None:
    client = page_before_restart(None)
    for token in ("", "None", "null"):
        assert client.post("/api/again", json={"token": token}).status_code == 403
    assert client.post("/api/again", json={}).status_code == 403
    assert client.post("/api/again", json={"token": TOKEN}).status_code == 200


def test_other_websites_cannot_trade_a_token() -> None:
    client = anonymous_client(PREVIOUS_TOKEN)
    for headers in ({}, {"origin": "http://evil.example"}):
        response = client.post("/api/again", json={"token": PREVIOUS_TOKEN}, headers=headers)
        assert response.status_code == 403
