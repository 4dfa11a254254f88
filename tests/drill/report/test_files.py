"""The files of a report: HTML page, PNG, CSV and JSON."""

import csv
import json
import re
from html.parser import HTMLParser
from pathlib import Path

import pytest

from drill.core.errors import UserError
from drill.report.figures import Report
from drill.report.files import PAGE_FILE, write_report


@pytest.fixture(scope="module")
def folder(five_blocks: Report, tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_report(five_blocks, tmp_path_factory.mktemp("report")).parent


class ElementList(HTMLParser):
    """The elements of a page with their attributes, in order."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.elements: list[tuple[str, dict[str, str | None]]] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, dict(attrs)))


def test_the_page_is_self_contained(folder: Path) -> None:
    text = (folder / PAGE_FILE).read_text("utf-8")
    for tag, attributes in ElementList(text).elements:
        assert tag not in ("script", "link", "img", "iframe", "object"), tag
        for name in ("src", "href", "xlink:href"):
            target = attributes.get(name)
            assert target is None or target.startswith(("#", "data:image/")), target
    assert "url(http" not in text


def test_the_page_begins_with_the_sentences_that_matter(folder: Path) -> None:
    text = (folder / PAGE_FILE).read_text("utf-8")
    sentences = text[text.index('<ol class="sentences">') : text.index("<section")]
    assert "You copy half of the calls at <b>" in sentences
    assert "costs you most" in sentences


def test_every_chart_has_a_name_a_sentence_and_a_table(folder: Path) -> None:
    text = (folder / PAGE_FILE).read_text("utf-8")
    charts = [attributes for tag, attributes in ElementList(text).elements if tag == "svg"]
    assert len(charts) >= 6
    for attributes in charts:
        assert attributes["role"] == "img"
        assert len(attributes["aria-label"] or "") > 20
    for section in re.findall(r"<section.*?</section>", text, re.DOTALL):
        assert "<p>" in section
        if "<svg" in section:
            assert "<table>" in section


def test_charts_and_tables_are_also_separate_files(folder: Path) -> None:
    charts = {path.stem for path in folder.glob("*.png")}
    tables = {path.stem for path in folder.glob("*.csv")}
    assert {"trend-1", "curve-1", "confusion", "cost-character", "response"} <= charts <= tables
    for path in folder.glob("*.csv"):
        with path.open(newline="", encoding="utf-8") as lines:
            head, *rows = csv.reader(lines)
        assert rows
        assert all(len(row) == len(head) for row in rows)


def test_the_data_file_keeps_the_keys_of_version_0_2_0(folder: Path) -> None:
    data = json.loads((folder / "report.json").read_text("utf-8"))
    assert list(data) == [
        "version", "made", "answered", "sittings", "hours", "kinds", "confusion", "order_errors",
        "costs", "responses", "spoken", "contacts", "sentences", "hunts", "headlines",
    ]  # fmt: skip
    assert data["answered"] == 5 * 40 + 5
    (group,) = data["kinds"]
    assert list(group) == ["title", "blocks", "together", "trend", "machine"]
    assert group["machine"] is None
    assert len(group["blocks"]) == 5
    assert set(group["blocks"][0]) == {"started", "n", "x50_db", "x80_db", "slope_per_db"}
    assert set(data["costs"]["character"][0]) == {"label", "n", "enough", "cost_db"}


@pytest.mark.slow
def test_a_folder_that_cannot_be_written_is_an_error(five_blocks: Report, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(UserError, match="cannot be written") as error:
        write_report(five_blocks, tmp_path / "file")
    assert "\n" not in str(error.value)
