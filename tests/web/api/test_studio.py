"""/api/studio: the offer, the installation in the background and its progress."""

import time
from dataclasses import replace
from typing import Any

import pytest
from starlette.testclient import TestClient

from drill.core.errors import ResourceUnavailable
from tests.drill.studio_installation import StubInstallation


@pytest.fixture
def installation(monkeypatch: pytest.MonkeyPatch) -> StubInstallation:
    return StubInstallation(monkeypatch)


def state_at_the_end(client: TestClient) -> dict[str, Any]:
    """Return the state after the installation has ended."""
    for _ in range(600):
        state: dict[str, Any] = client.get("/api/studio").json()
        if not state["running"]:
            return state
        time.sleep(0.05)
    raise AssertionError("the installation did not end")


def test_the_voices_are_added_and_measured(
    client: TestClient, installation: StubInstallation
) -> None:
    before = client.get("/api/studio").json()
    assert (before["act"], before["shared"], before["running"]) == ("add", False, False)
    assert client.post("/api/studio", json={}).status_code == 200
    after = state_at_the_end(client)
    assert installation.installs == ["studio"]
    assert (after["act"], after["problem"]) == ("", "")
    assert "50 % of its length" in after["says"][-1]


def test_installed_voices_can_be_measured(
    client: TestClient, installation: StubInstallation
) -> None:
    installation.installed = True
    assert client.get("/api/studio").json()["act"] == "measure"
    client.post("/api/studio", json={})
    assert state_at_the_end(client)["act"] == ""
    assert installation.installs == []


def test_a_shared_environment_needs_an_agreement(
    client: TestClient, installation: StubInstallation
) -> None:
    installation.target = replace(installation.target, own=False)
    assert client.get("/api/studio").json()["shared"]
    response = client.post("/api/studio", json={"allow_shared": False})
    assert response.status_code == 400
    assert response.json()["field"] == "allow_shared"
    assert installation.installs == []
    assert client.post("/api/studio", json={"allow_shared": True}).status_code == 200
    assert not state_at_the_end(client)["problem"]
    assert installation.installs == ["studio"]


def test_a_failure_is_reported_and_can_be_tried_again(
    client: TestClient, installation: StubInstallation
) -> None:
    installation.error = ResourceUnavailable("the studio extra could not be installed (no network)")
    client.post("/api/studio", json={})
    state = state_at_the_end(client)
    assert "no network" in state["problem"]
    assert state["act"] == "add"
    installation.error = None
    client.post("/api/studio", json={})
    assert state_at_the_end(client)["act"] == ""


def test_nothing_is_added_to_an_environment_that_refuses_packages(
    client: TestClient, installation: StubInstallation
) -> None:
    installation.target = replace(installation.target, refusal="there is no pip here")
    state = client.get("/api/studio").json()
    assert state["act"] == ""
    assert state["says"][-1] == "They cannot be added here: there is no pip here."


def test_a_wrong_entry_is_refused(client: TestClient) -> None:
    response = client.post("/api/studio", json={"allow_shared": "yes"})
    assert response.status_code == 400
    assert response.json()["field"] == "allow_shared"
