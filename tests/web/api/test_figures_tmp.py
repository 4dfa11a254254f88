"""Budget, report, past answers and listening as the pages get them, without a browser."""

from datetime import UTC, datetime

import pytest

from drill.core.paths import record_file
from drill.records.store import Store
from drill.report.figures import build_report
from drill.web.api.history import answers_json
from drill.web.api.report import report_json
from tests.web.sample_record import fill


@pytest.mark.usefixtures("home")
def test_an_empty_record_is_said_to_be_empty() -> None:
    with Store(record_file()) as store:
        told = report_json(build_report(store, now=datetime.now(UTC)))
    assert not told["enough"]
    assert told["sections"] == []
    assert "Nothing is recorded yet" in told["sentence"]


@pytest.mark.usefixtures("home")
def test_report_and_answers_of_a_record() -> None:
    names = fill()
    with Store(record_file()) as store:
        told = report_json(build_report(store, now=datetime.now(UTC)))
        sitting = store.attempts(names["practice"])
    assert told["enough"]
    assert told["sentence"].startswith("92 answers in 6 sittings")
    for section in told["sections"]:
        assert section["sentences"]
        assert section["tables"] or not section["charts"]
        for chart in section["charts"]:
            assert section["sentences"][0][:40] in chart["says"]
        for table in section["tables"]:
            assert {len(row) for row in table["rows"]} == {len(table["head"])}
    answers = answers_json(sitting)
    assert [answer["number"] for answer in answers] == list(range(1, 9))
    wrong = next(answer for answer in answers if not answer["right"])
    bad = next(field for field in wrong["fields"] if not field["right"])
    assert "".join(pair["sent"] for pair in bad["pairs"]) == bad["sent"]
