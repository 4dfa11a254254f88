"""Charts as SVG that stands inside a page: named, themed by the page, and free of inline styles.

The page's content security policy admits no style attribute, and a chart has to follow the page
into dark and forced colours. So what matplotlib writes as styles becomes attributes, and its
colours become the page's (`--chart-...` in tokens.css).
"""

import io
import re
import threading
import xml.etree.ElementTree as ET
from collections.abc import Iterator
from typing import TYPE_CHECKING

from drill.report.charts import INK, SECOND, SOFT

if TYPE_CHECKING:
    from matplotlib.figure import Figure

SVG = "http://www.w3.org/2000/svg"
XLINK = "{http://www.w3.org/1999/xlink}href"

ET.register_namespace("", SVG)  # so that elements are written without a prefix

COLOURS = {
    "#ffffff": "var(--chart-ground)",
    "#000000": "var(--chart-ink)",
    INK: "var(--chart-first)",
    SECOND: "var(--chart-second)",
    SOFT: "var(--chart-soft)",
    "#888888": "var(--chart-rule)",
    "#b0b0b0": "var(--chart-rule)",
    "#cccccc": "var(--chart-rule)",
}
"""Colours of drill.report.charts, drill.listen.plot and matplotlib's defaults, and the page's."""

ALONE = threading.Lock()
"""matplotlib keeps its settings for the whole process: one chart is written at a time."""


def inline(chart: "Figure", *, title: str, says: str, mark: str) -> str:
    """Return a chart as an SVG element with a title and a description.

    mark: set before every id, so that several charts can stand in one page.
    """
    import matplotlib

    out = io.StringIO()
    with ALONE, matplotlib.rc_context({"svg.fonttype": "none", "svg.hashsalt": mark}):
        chart.savefig(out, format="svg", metadata={"Date": None})
    root = ET.fromstring(out.getvalue())
    _drop(root, ("metadata", "style"))
    for element in root.iter():
        _restyle(element)
    _rename(root, mark)
    _name(root, title, says, mark)
    return ET.tostring(root, encoding="unicode")


def _drop(root: ET.Element, names: tuple[str, ...]) -> None:
    for parent in list(root.iter()):
        for child in list(parent):
            if child.tag in {f"{{{SVG}}}{name}" for name in names}:
                parent.remove(child)


def _restyle(element: ET.Element) -> None:
    """Turn a style attribute into attributes of its own, and its colours into the page's."""
    for name, value in _declarations(element.attrib.pop("style", "")):
        element.set(name, COLOURS.get(value, value))


def _declarations(style: str) -> Iterator[tuple[str, str]]:
    """Yield the declarations of a style that are attributes too; the typeface is the page's."""
    for declaration in style.split(";"):
        name, _, value = (part.strip() for part in declaration.partition(":"))
        if name == "font":  # older matplotlib: size and typeface in one
            size = re.search(r"[\d.]+px", value)
            yield "font-size", size.group() if size else "10px"
        elif name and name != "font-family":
            yield name, value


def _rename(root: ET.Element, mark: str) -> None:
    """Keep only the ids that something refers to, each with the mark before it."""
    used = set()
    for element in root.iter():
        link = element.attrib.pop(XLINK, "")
        if link.startswith("#"):
            used.add(link[1:])
            element.set("href", f"#{mark}-{link[1:]}")
        elif link:
            element.set("href", link)
        clip = element.get("clip-path", "")
        if clip.startswith("url(#"):
            used.add(clip[5:-1])
            element.set("clip-path", f"url(#{mark}-{clip[5:-1]})")
    for element in root.iter():
        identity = element.attrib.pop("id", None)
        if identity in used:
            element.set("id", f"{mark}-{identity}")


def _name(root: ET.Element, title: str, says: str, mark: str) -> None:
    """Make it one picture to a screen reader, named and described."""
    for name in ("width", "height"):  # the page gives the size
        root.attrib.pop(name, None)
    root.attrib |= {
        "role": "img",
        "aria-labelledby": f"{mark}-title",
        "aria-describedby": f"{mark}-desc",
        "fill": "var(--chart-ink)",
        "stroke-linejoin": "round",
        "stroke-linecap": "butt",
    }
    for old in root.findall(f"{{{SVG}}}title"):
        root.remove(old)
    for place, (name, text) in enumerate((("title", title), ("desc", says))):
        element = ET.Element(f"{{{SVG}}}{name}", {"id": f"{mark}-{name}"})
        element.text = text
        root.insert(place, element)
