"""/api/hunt-files: the user's hunts as a file, and the comparison of a club."""

import pytest
from starlette.testclient import TestClient

from drill.hunt.exports import hunts_text, parse_hunts
from tests.drill.hunt.test_club import row
from tests.web.api.test_hunt_ends import hunted


def test_a_file_has_the_own_call_only_on_request(client: TestClient) -> None:
    assert client.get("/api/hunt-files/csv").status_code == 400
    hunted()
    plain = client.get("/api/hunt-files/csv")
    assert plain.status_code == 200
    assert "E87ABC" not in plain.text
    assert len(parse_hunts(plain.text, "csv", name="hunts.csv")) == 1
    assert "E87ABC" in client.get("/api/hunt-files/jsonl?own_call=1").text
    assert client.get("/api/hunt-files/xml").status_code == 400


def test_hunts_of_several_files_are_compared(client: TestClient) -> None:
    files = [
        {"name": "anna.csv", "text": hunts_text([row(right=12, score=36)], "csv")},
        {"name": "ben.jsonl", "text": hunts_text([row(right=9, score=50)], "jsonl")},
    ]
    (band,) = client.post("/api/hunt-files/comparison", json={"files": files}).json()["bands"]
    assert [cells[0] for cells in band["table"]["rows"]] == ["ben", "anna"]
    assert len(band["sentences"]) == 2


@pytest.mark.parametrize(
    "files",
    [
        "anna",
        [{"name": "anna.csv"}],
        [{"name": "anna.txt", "text": ""}],
        [{"name": "anna.csv", "text": "schema\n1\n"}],
        [{"name": "anna.jsonl", "text": "{"}],
        [{"name": "anna.jsonl", "text": "1" * 60_001}],
    ],
)
def test_other_files_are_refused(client: TestClient, files: object) -> None:
    response = client.post("/api/hunt-files/comparison", json={"files": files})
    assert response.status_code == 400
    assert response.json()["error"]
