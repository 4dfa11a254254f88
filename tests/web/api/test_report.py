"""/api/report."""

from datetime import UTC, datetime

import pytest
from starlette.testclient import TestClient

from drill.core.paths import record_file
from drill.records.store import Store
from drill.report.figures import build_report
from drill.web.api.report import report_json
from tests.drill.simulated_trainee import SimulatedTrainee
from tests.web.api.session_client import answer_to_end
from tests.web.client import begin_session, post_answer
from tests.web.sample_record import fill_record


@pytest.mark.usefixtures("home")
def test_empty_record_gives_no_sections() -> None:
    with Store(record_file()) as store:
        report = report_json(build_report(store, now=datetime.now(UTC)))
    assert not report["enough"]
    assert (report["sections"], report["headlines"], report["missing"]) == ([], [], [])
    assert "Nothing is recorded yet" in report["sentence"]


@pytest.mark.usefixtures("home")
def test_every_section_has_sentences_and_every_picture_a_table() -> None:
    fill_record()
    with Store(record_file()) as store:
        report = report_json(build_report(store, now=datetime.now(UTC)))
    assert report["enough"]
    assert report["sentence"].startswith("92 answers in 6 sessions")
    for section in report["sections"]:
        assert section["sentences"]
        assert section["tables"] or section["picture"] is None
        assert section["picture"] is None or section["picture"]["says"].endswith(".")
        for table in section["tables"]:
            assert {len(row) for row in table["rows"]} == {len(table["head"])}


@pytest.mark.slow
def test_report_is_computed_again_when_the_record_changes(client: TestClient) -> None:
    assert client.get("/api/report").json()["enough"] is False
    state = begin_session(client, "measurement", count=24, seed=3)
    answer_to_end(client, state, SimulatedTrainee(seed=4))
    report = client.get("/api/report").json()
    assert report["enough"] is True
    assert report["sections"][0]["title"].startswith("Measurement blocks: calls")
    assert report["sections"][0]["tables"][0]["rows"]
    assert client.get("/api/report").json() == report
    post_answer(client, begin_session(client)["id"], 0, "E8ABC")
    assert client.get("/api/report").json()["sentence"].startswith("30 answers in 2 sessions")
