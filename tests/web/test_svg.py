"""Charts inside a page: no styles, the page's colours, a title and a description."""

import re
import xml.etree.ElementTree as ET

import pytest

from drill.core.chart_colours import CHART_FIRST, CHART_RULE
from drill.listen.plot import plot_panels
from drill.report.charts import empty_figure
from drill.web.svg import PAGE_COLOURS, SVG_NAMESPACE, _presentation_attributes, inline_svg
from tests.drill.listen.overs import noise_panel


def chart_element(id_prefix: str = "one") -> ET.Element:
    chart = empty_figure()
    axes = chart.subplots()
    axes.plot([1, 2, 3], [3, 1, 2], color=CHART_FIRST, marker="o", label="x50")
    axes.axhline(2, color=CHART_RULE)
    axes.grid(alpha=0.3)
    axes.legend()
    axes.set(title="A < B & C")
    svg = inline_svg(chart, title="A < B", description="It & that.", id_prefix=id_prefix)
    return ET.fromstring(svg)


def test_nothing_remains_that_a_strict_content_security_policy_forbids() -> None:
    root = chart_element()
    for element in root.iter():
        assert element.tag not in (f"{{{SVG_NAMESPACE}}}style", f"{{{SVG_NAMESPACE}}}script")
        assert not [name for name in element.attrib if name == "style" or name.startswith("on")]


def test_every_colour_is_one_of_the_page() -> None:
    text = ET.tostring(chart_element(), encoding="unicode")
    assert not re.findall(r"#[0-9a-fA-F]{6}\b", text)
    used = set(re.findall(r"var\(--chart-\w+\)", text))
    assert {"var(--chart-first)", "var(--chart-rule)", "var(--chart-ink)"} <= used
    assert used <= set(PAGE_COLOURS.values())


def test_a_chart_has_a_title_and_a_description() -> None:
    root = chart_element()
    text_by_id = {element.get("id"): element.text for element in root.iter()}
    assert root.get("role") == "img"
    assert text_by_id[root.get("aria-labelledby")] == "A < B"
    assert text_by_id[root.get("aria-describedby")] == "It & that."
    assert [element.text for element in root if element.tag.endswith("title")] == ["A < B"]


def test_two_charts_share_no_id_and_every_reference_has_a_target() -> None:
    ids_by_chart: list[set[str]] = []
    for prefix in ("one", "two"):
        root = chart_element(prefix)
        ids = {identity for element in root.iter() if (identity := element.get("id"))}
        text = ET.tostring(root, encoding="unicode")
        references = set(re.findall(r'href="#([^"]*)"|url\(#([^)]*)\)', text))
        assert references
        assert {href or url for href, url in references} <= ids
        ids_by_chart.append(ids)
    assert not ids_by_chart[0] & ids_by_chart[1]


def test_a_spectrogram_is_painted_in_colours_of_the_page() -> None:
    """Embedded images are only masks, so that their own colours never show."""
    text = inline_svg(plot_panels([noise_panel()]), title="t", description="d", id_prefix="p")
    root = ET.fromstring(text)
    masks = {mask.get("id"): mask for mask in root.iter(f"{{{SVG_NAMESPACE}}}mask")}
    assert set(masks) == {"p-mask-paint-first", "p-mask-paint-ink"}
    assert len(list(root.iter(f"{{{SVG_NAMESPACE}}}image"))) == 2
    for mask in masks.values():
        (image,) = mask
        assert mask.get("mask-type") == "alpha"
        assert (image.get("href") or "").startswith("data:image/png;base64,")
    painted = {
        rectangle.get("mask"): rectangle.get("fill")
        for rectangle in root.iter(f"{{{SVG_NAMESPACE}}}rect")
        if rectangle.get("mask")
    }
    assert painted == {
        "url(#p-mask-paint-first)": "var(--chart-first)",
        "url(#p-mask-paint-ink)": "var(--chart-ink)",
    }


@pytest.mark.parametrize("size", ["font: 9px 'A'", "font-size: 9px; font-family: 'A'"])
def test_text_keeps_its_size_and_gets_the_typeface_of_the_page(size: str) -> None:
    assert dict(_presentation_attributes(f"{size}; text-anchor: middle")) == {
        "font-size": "9px",
        "text-anchor": "middle",
    }
