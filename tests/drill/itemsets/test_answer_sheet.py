"""The printable pages of a set: answer sheets, and the key on a separate page."""

from html.parser import HTMLParser
from typing import Any

from drill.core.conditions import Conditions
from drill.items.plan import Plan
from drill.itemsets.answer_sheet import answer_key_html, answer_sheet_html

PLAN = Plan(seed=7, count=2, part="over", conditions=Conditions(snr_db=-3))
ENTRIES: list[dict[str, Any]] = [
    {"number": 1, "fields": {"call": "E8ABC", "zone": "14"}, "spoken": "echo eight <five>"},
    {"number": 2, "fields": {"call": "Q9XYZ", "area": "A&B"}, "spoken": "quebec"},
]


class Tables(HTMLParser):
    """The text of every cell, by table and row."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.tables: list[list[list[str]]] = []
        self.in_cell = False
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: object) -> None:
        if tag == "table":
            self.tables.append([])
        elif tag == "tr":
            self.tables[-1].append([])
        elif tag in ("td", "th"):
            self.tables[-1][-1].append("")
            self.in_cell = True

    def handle_endtag(self, tag: str) -> None:
        if tag in ("td", "th"):
            self.in_cell = False

    def handle_data(self, data: str) -> None:
        if self.in_cell:
            self.tables[-1][-1][-1] += data


def test_everybody_gets_a_sheet_without_answers() -> None:
    page = answer_sheet_html(PLAN, ENTRIES, people=3)
    blank = [["Item", "call", "zone", "area"], ["1", "", "", ""], ["2", "", "", ""]]
    assert Tables(page).tables == [blank] * 3
    assert "E8ABC" not in page
    assert "section + section { break-before: page }" in page


def test_the_key_is_a_separate_page() -> None:
    (key,) = Tables(answer_key_html(PLAN, ENTRIES)).tables
    assert key == [
        ["Item", "call", "zone", "area", "Spoken"],
        ["1", "E8ABC", "14", "", "echo eight <five>"],
        ["2", "Q9XYZ", "", "A&B", "quebec"],
    ]


def test_the_page_states_conditions_fiction_and_cautions() -> None:
    page = " ".join(answer_sheet_html(PLAN, ENTRIES).split())
    assert "2 items: SNR -3 dB in 3 kHz, steady path, seed 7." in page
    assert "fictional" in page
    assert "Never put practice audio on the air." in page
    assert "Start at a low volume" in page


def test_text_is_escaped() -> None:
    page = answer_key_html(PLAN, ENTRIES)
    assert "<five>" not in page
    assert "echo eight &lt;five&gt;" in page
