"""The report: its figures, its page, its files."""

import csv
import json
import re
from datetime import UTC, datetime, timedelta
from html.parser import HTMLParser
from pathlib import Path

import numpy as np
import pytest

from drill.core.paths import record_file
from drill.items.plan import Plan
from drill.records.store import Store
from drill.report.figures import Report, median, practised_s, report
from drill.report.sections import PAGE, write
from drill.session.kinds.measurement import Measurement
from drill.session.kinds.base import SessionKind
from tests.drill.typist import START, Typist, run

NOW = datetime(2026, 6, 1, tzinfo=UTC)


def keep(store: Store, course: SessionKind, typist: Typist, day: int) -> None:
    """Have a listener go through a course and keep it in the record."""
    begun = START + timedelta(days=day)
    identity = store.begin_session(
        course.plan, now=begun, version="test", mode=course.stored_name, course=course.to_dict()
    )
    for number, attempt in enumerate(run(course, typist, day=day)):
        store.add_attempt(identity, number, attempt)


def plan(seed: int, count: int = 40) -> Plan:
    return Plan(seed=seed, count=count, mix="unassigned", voices=("tin", "wren"))


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Report:
    with Store(tmp_path_factory.mktemp("record") / "record.sqlite") as store:
        for block in range(5):
            typist = Typist(seed=block, x50_db=-7.0, hard={"Q": 4.0})
            keep(store, Measurement.from_plan(plan(block), store), typist, day=7 * block)
        return report(store, now=NOW)


@pytest.fixture(scope="module")
def folder(made: Report, tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write(made, tmp_path_factory.mktemp("report")).parent


class Parsed(HTMLParser):
    """What is in the page."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    def count(self, tag: str) -> int:
        return sum(name == tag for name, _ in self.tags)


def test_the_page_needs_nothing_else(folder: Path) -> None:
    text = (folder / PAGE).read_text("utf-8")
    page = Parsed(text)
    for tag, attributes in page.tags:
        assert tag not in ("script", "link", "img", "iframe", "object"), tag
        for name in ("src", "href", "xlink:href"):
            target = attributes.get(name)
            assert target is None or target.startswith(("#", "data:image/")), target
    assert "url(http" not in text


def test_every_chart_has_a_name_a_sentence_and_a_table(folder: Path) -> None:
    page = Parsed((folder / PAGE).read_text("utf-8"))
    charts = [a for tag, a in page.tags if tag == "svg"]
    assert len(charts) >= 6
    for attributes in charts:
        assert attributes["role"] == "img"
        assert len(attributes["aria-label"] or "") > 20
    text = (folder / PAGE).read_text("utf-8")
    for section in re.findall(r"<section.*?</section>", text, re.DOTALL):
        assert "<p>" in section
        if "<svg" in section:
            assert "<table>" in section


def test_files_lie_beside_the_page(folder: Path) -> None:
    pictures = {path.stem for path in folder.glob("*.png")}
    tables = {path.stem for path in folder.glob("*.csv")}
    assert {"trend-1", "curve-1", "confusion", "cost-character", "response"} <= pictures <= tables
    for path in folder.glob("*.csv"):
        with path.open(newline="", encoding="utf-8") as lines:
            head, *rows = csv.reader(lines)
        assert rows
        assert all(len(row) == len(head) for row in rows)
    data = json.loads((folder / "report.json").read_text("utf-8"))
    assert data["answered"] == 5 * 40 + 5
    assert len(data["kinds"][0]["blocks"]) == 5


def test_the_figures_are_those_of_the_blocks(made: Report) -> None:
    (kind,) = made.kinds
    assert [e.n for e in kind.estimates] == [40] * 5
    assert kind.together.n == 200
    assert kind.together.x50_db.low < np.mean([e.x50_db.value for e in kind.estimates])
    assert kind.trend is not None
    assert kind.trend.per_week_db.low < 0 < kind.trend.per_week_db.high  # the listener stays
    assert sum(row.n for row in kind.curve) == 200
    assert made.hours == pytest.approx((205 * 8 + 5 * 7) / 3600, rel=0.05)
    dearest, offset = made.costs["character"][0]
    assert dearest == "Q" or not offset.has_enough_data


def test_practice_never_enters_a_threshold(tmp_path: Path) -> None:
    from drill.psychometrics.placement import TRAINING_TARGETS, Placement
    from drill.session.kinds.training import Training

    with Store(tmp_path / "record.sqlite") as store:
        keep(store, Measurement.from_plan(plan(1), store), Typist(), day=0)
        before = report(store, now=NOW).kinds[0].together.x50_db
        practice = Training(plan=plan(2), placement=Placement(seed=2, targets=TRAINING_TARGETS))
        keep(store, practice, Typist(x50_db=5.0), day=1)
        after = report(store, now=NOW)
        assert after.kinds[0].together.x50_db == before
        assert after.answered == 45 + 40


def test_an_empty_and_a_short_record_say_so_plainly(tmp_path: Path) -> None:
    from drill.session.kinds.practice import Practice

    with Store(tmp_path / "record.sqlite") as store:
        keep(store, Practice(plan=plan(1, count=2)), Typist(), day=0)
        page = write(report(store, now=NOW), tmp_path / "out")
    text = page.read_text("utf-8")
    assert "There is no measuring block yet" in text
    assert "Not enough heard yet" in text
    assert "Not enough right answers yet" in text


def test_time_spent_leaves_pauses_out() -> None:
    at = [START, START + timedelta(seconds=10), START + timedelta(hours=3)]
    times = [("one", moment.isoformat()) for moment in at]
    assert practised_s(times) == pytest.approx(15 + 10 + 60)


def test_median_and_its_interval() -> None:
    """For 25 values the ranks are the 8th and the 18th: David and Nagaraja, Order Statistics."""
    found = median(range(1, 26))
    assert (found.value, found.low, found.high) == (13, 8, 18)


def test_the_record_is_where_the_command_looks(
    home: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    from drill.cli import main

    with Store(record_file()) as store:
        keep(store, Measurement.from_plan(plan(1), store), Typist(), day=0)
    assert main(["report", "--to", str(tmp_path / "it")]) == 0
    assert (
        f"45 answers, 0.1 hours: the report is {tmp_path / 'it' / PAGE}" in capsys.readouterr().out
    )
