"""/api/sets: rendering with progress, cancelling and continuing, copying, comparing."""

import io
import time
import zipfile
from typing import Any

import pytest
from starlette.testclient import TestClient

from drill.itemsets import write
from drill.web.api.item_sets import SET_CHECKS
from drill.web.body_rules import ADD_SET_PATH
from tests.web.client import FAST_OPTIONS, correct_answer, current_item, post_answer

WAIT_S = 120
SMALL = {**FAST_OPTIONS, "name": "club", "count": 3, "seed": 4, "format": "wav"}


def wait_for_set(client: TestClient) -> dict[str, Any]:
    """Return the state when nothing is rendered any more."""
    for _ in range(20 * WAIT_S):
        state: dict[str, Any] = client.get("/api/sets").json()
        if not state["progress"]["running"]:
            return state
        time.sleep(0.05)
    raise AssertionError("rendering did not end")


def render(client: TestClient, **options: Any) -> dict[str, Any]:
    """Render a small set; return the state at the end."""
    response = client.post("/api/sets", json={**SMALL, **options})
    assert response.status_code == 200, response.text
    return wait_for_set(client)


def test_a_set_is_rendered_saved_copied_and_compared(client: TestClient) -> None:
    state = render(client, track_s=1, people=2)
    assert state["progress"]["problem"] == ""
    assert (state["progress"]["done"], state["progress"]["total"]) == (6, 6)
    (row,) = state["sets"]
    assert (row["name"], row["count"], row["complete"], row["has_sound"]) == ("club", 3, True, True)
    data = client.get("/api/sets/club/zip").content
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        names = set(archive.namelist())
    assert {"club/track.wav", "club/sheet.html", "club/key.html", "club/item-0003.wav"} <= names
    assert client.get("/api/sets/club/scores").json() == {"table": None}
    session = client.post("/api/sets/club/copy", json={}).json()
    assert (session["count"], session["page"]) == (3, "/practise")
    answer = correct_answer(current_item(session["id"]))
    assert post_answer(client, session["id"], 0, answer).json()["right"]
    table = client.get("/api/sets/club/scores").json()["table"]
    assert table["rows"][0][:2] == ["(no name)", "1 of 1"]
    headers = {"content-type": "application/zip"}
    query = {"name": "added"}
    added = client.post(ADD_SET_PATH, params=query, content=data, headers=headers).json()
    assert (added["complete"], added["has_sound"]) == (True, False)
    assert client.get("/api/sets/added/zip").status_code == 400
    assert client.post("/api/sets/added/copy", json={}).json()["count"] == 3
    assert client.post("/api/sets/club/delete", json={}).json()["sets"][0]["name"] == "added"


def test_a_cancelled_set_continues(client: TestClient, monkeypatch: pytest.MonkeyPatch) -> None:
    rendered: list[int] = []
    render_to_file = write._render_to_file

    def cancel_after_the_first(plan: Any, number: int, *more: Any) -> str:
        rendered.append(number)
        if rendered == [0]:
            client.post("/api/sets/cancel", json={})
        return render_to_file(plan, number, *more)

    monkeypatch.setattr(write, "_render_to_file", cancel_after_the_first)
    state = render(client, track_s=1)
    assert state["progress"]["cancelled"]
    assert (state["sets"][0]["finished"], state["sets"][0]["complete"]) == (1, False)
    assert client.post("/api/sets/club/copy", json={}).json()["field"] == "set"
    assert client.post("/api/sets/club/continue", json={}).status_code == 200
    state = wait_for_set(client)
    assert state["sets"][0]["complete"]
    assert rendered == [0, 1, 2]
    assert state["progress"]["total"] == 6  # with the track that was asked for
    state = render(client, seed=None)  # the seed of the set that was begun
    assert (state["progress"]["problem"], rendered) == ("", [0, 1, 2])


@pytest.mark.parametrize(
    ("options", "field"),
    [
        ({"name": "../x"}, "name"),
        ({"name": None}, "name"),
        ({"format": "mp3"}, "format"),
        ({"people": 0}, "people"),
        ({"track_s": 0.1}, "track_s"),
        ({"count": 1001}, "count"),
        ({"voices": ["nobody"]}, "voices"),
        ({"part": "song"}, "part"),
    ],
)
def test_a_wrong_request_is_refused(
    client: TestClient, options: dict[str, Any], field: str
) -> None:
    response = client.post("/api/sets", json={**SMALL, **options})
    assert (response.status_code, response.json()["field"]) == (400, field)
    assert client.get("/api/sets").json()["sets"] == []


def test_a_name_in_use_is_refused(client: TestClient) -> None:
    render(client)
    other = client.post("/api/sets", json={**SMALL, "count": 4})
    assert (other.status_code, other.json()["field"]) == (400, "name")
    assert render(client)["progress"]["problem"] == ""  # the same set is complete already


def test_an_unknown_set_is_refused(client: TestClient) -> None:
    for path in ("zip", "scores"):
        assert client.get(f"/api/sets/nothing/{path}").status_code == 404
    for path in ("copy", "delete", "continue"):
        assert client.post(f"/api/sets/nothing/{path}", json={}).status_code == 404
    assert set(SET_CHECKS) == {"name", "format", "people", "track_s"}
