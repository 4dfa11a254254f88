"""Charts as they stand inside a page: no style, the page's colours, a name and a description."""

import re
import xml.etree.ElementTree as ET

import pytest

from drill.listen.plot import pictured
from drill.report.charts import INK, empty_figure
from drill.web.svg import COLOURS, SVG, inline
from tests.drill.cli.commands.test_listen import noise_panel


def drawn(mark: str = "one") -> ET.Element:
    chart = empty_figure()
    axes = chart.subplots()
    axes.plot([1, 2, 3], [3, 1, 2], color=INK, marker="o", label="x50")
    axes.axhline(2, color="#888888")
    axes.grid(alpha=0.3)
    axes.legend()
    axes.set(title="A < B & C")
    return ET.fromstring(inline(chart, title="A < B", says="It & that.", mark=mark))


def test_what_a_strict_policy_forbids_is_not_there() -> None:
    root = drawn()
    for element in root.iter():
        assert element.tag not in (f"{{{SVG}}}style", f"{{{SVG}}}script")
        assert not [name for name in element.attrib if name == "style" or name.startswith("on")]


def test_every_colour_is_the_page_s() -> None:
    text = ET.tostring(drawn(), encoding="unicode")
    assert not re.findall(r"#[0-9a-fA-F]{6}\b", text)
    used = set(re.findall(r"var\(--chart-\w+\)", text))
    assert {"var(--chart-first)", "var(--chart-rule)", "var(--chart-ink)"} <= used
    assert used <= set(COLOURS.values())


def test_it_is_named_and_described() -> None:
    root = drawn()
    by_id = {element.get("id"): element.text for element in root.iter()}
    assert root.get("role") == "img"
    assert by_id[root.get("aria-labelledby")] == "A < B"
    assert by_id[root.get("aria-describedby")] == "It & that."
    assert [element.text for element in root if element.tag.endswith("title")] == ["A < B"]


def test_two_in_a_page_share_no_id_and_point_to_what_is_there() -> None:
    ids: list[set[str]] = []
    for mark in ("one", "two"):
        root = drawn(mark)
        own = {identity for element in root.iter() if (identity := element.get("id"))}
        text = ET.tostring(root, encoding="unicode")
        asked = set(re.findall(r'href="#([^"]*)"|url\(#([^)]*)\)', text))
        assert asked
        assert {first or second for first, second in asked} <= own
        ids.append(own)
    assert not ids[0] & ids[1]


def test_a_spectrogram_stays_a_picture() -> None:
    text = inline(pictured([noise_panel()]), title="t", says="s", mark="m")
    root = ET.fromstring(text)
    images = [e.get("href", "") for e in root.iter(f"{{{SVG}}}image")]
    assert len(images) == 1
    assert images[0].startswith("data:image/png;base64,")


@pytest.mark.parametrize("size", ["font: 9px 'A'", "font-size: 9px; font-family: 'A'"])
def test_the_size_of_letters_is_kept_and_their_face_is_the_page_s(size: str) -> None:
    from drill.web.svg import _declarations

    assert dict(_declarations(f"{size}; text-anchor: middle")) == {
        "font-size": "9px",
        "text-anchor": "middle",
    }
