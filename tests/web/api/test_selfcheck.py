"""/api/selfcheck: progress, figures, cancelling and continuing."""

import threading
import time
from collections.abc import Iterator
from typing import Any

import pytest
from starlette.testclient import TestClient

from drill.selfcheck.figures import CheckedFigure
from drill.web.api import selfcheck

WAIT_S = 60


def figure(quantity: str, value: float = 1.0) -> CheckedFigure:
    return CheckedFigure(
        quantity=quantity, value=value, low=0.5, high=1.5, unit="dB", source="this test"
    )


def state_at_the_end(client: TestClient) -> dict[str, Any]:
    """Return the state when the check has ended."""
    for _ in range(20 * WAIT_S):
        state: dict[str, Any] = client.get("/api/selfcheck").json()
        if not state["progress"]["running"]:
            return state
        time.sleep(0.05)
    raise AssertionError("the check did not end")


def test_every_figure_is_measured(client: TestClient, monkeypatch: pytest.MonkeyPatch) -> None:
    checks = (lambda: iter([figure("gain"), figure("delay", 2.0)]), lambda: iter([figure("noise")]))
    monkeypatch.setattr(selfcheck, "SELF_CHECKS", checks)
    assert client.get("/api/selfcheck").json()["table"] is None
    client.post("/api/selfcheck", json={})
    state = state_at_the_end(client)
    assert (state["complete"], state["passed"], state["can_continue"]) == (True, False, False)
    assert state["says"].startswith("Within their limits: 2 of 3 values.")
    assert [row[0] for row in state["table"]["rows"]] == ["gain", "delay", "noise"]
    assert [row[4] for row in state["table"]["rows"]] == ["yes", "no", "yes"]
    client.post("/api/selfcheck", json={})  # begins anew
    assert len(state_at_the_end(client)["table"]["rows"]) == 3


def test_a_cancelled_check_continues(client: TestClient, monkeypatch: pytest.MonkeyPatch) -> None:
    runs: list[str] = []
    begun, permission = threading.Event(), threading.Event()

    def first() -> Iterator[CheckedFigure]:
        runs.append("first")
        begun.set()
        assert permission.wait(WAIT_S)
        yield figure("gain")

    def second() -> Iterator[CheckedFigure]:
        runs.append("second")
        yield figure("noise")

    monkeypatch.setattr(selfcheck, "SELF_CHECKS", (first, second))
    client.post("/api/selfcheck", json={})
    assert begun.wait(WAIT_S)
    client.post("/api/selfcheck/cancel", json={})
    permission.set()
    state = state_at_the_end(client)
    assert (state["complete"], state["can_continue"]) == (False, True)
    assert state["says"] == "Within their limits so far: 1 of 1 value."
    client.post("/api/selfcheck", json={})
    assert state_at_the_end(client)["complete"]
    assert runs == ["first", "second"]
