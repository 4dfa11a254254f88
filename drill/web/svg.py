"""Charts as inline SVG elements, with title and description, in the page's colours.

The page's content security policy forbids style attributes, and a chart has to follow the page's
dark and forced colours. Therefore Matplotlib's styles are turned into attributes, and its colours
into those of the page (`--chart-...` in tokens.css).
"""

import io
import re
import threading
import xml.etree.ElementTree as ET
from collections.abc import Iterator
from typing import TYPE_CHECKING

from drill.core.chart_colours import (
    CHART_FIRST,
    CHART_GROUND,
    CHART_INK,
    CHART_RULE,
    CHART_SECOND,
    CHART_SOFT,
)
from drill.listen.plot import PAINT_PREFIX

if TYPE_CHECKING:
    from matplotlib.figure import Figure

SVG_NAMESPACE = "http://www.w3.org/2000/svg"
XLINK_HREF = "{http://www.w3.org/1999/xlink}href"

ET.register_namespace("", SVG_NAMESPACE)  # writes elements without a prefix

PAGE_COLOURS = {
    "#ffffff": "var(--chart-ground)",
    "#000000": "var(--chart-ink)",
    CHART_GROUND: "var(--chart-ground)",
    CHART_INK: "var(--chart-ink)",
    CHART_FIRST: "var(--chart-first)",
    CHART_SECOND: "var(--chart-second)",
    CHART_SOFT: "var(--chart-soft)",
    CHART_RULE: "var(--chart-rule)",
    "#b0b0b0": "var(--chart-rule)",
    "#cccccc": "var(--chart-rule)",
}
"""Page colours for those of drill.report.charts, drill.listen.plot and Matplotlib's defaults."""

_matplotlib_lock = threading.Lock()  # Matplotlib's settings are global to the process


def inline_svg(chart: "Figure", *, title: str, description: str, id_prefix: str) -> str:
    """Return a chart as the text of an SVG element.

    title, description: for screen readers. id_prefix: precedes every id, so that ids of several
    charts in one page differ.
    """
    import matplotlib

    out = io.StringIO()
    with (
        _matplotlib_lock,
        matplotlib.rc_context(
            {
                "svg.fonttype": "none",
                "svg.hashsalt": id_prefix,
                "image.composite_image": False,  # each layer of a spectrogram is an image
            }
        ),
    ):
        chart.savefig(out, format="svg", metadata={"Date": None})
    root = ET.fromstring(out.getvalue())
    _remove_elements(root, ("metadata", "style"))
    for element in root.iter():
        _replace_style(element)
    _paint_images(root)
    _prefix_ids(root, id_prefix)
    _label(root, title, description, id_prefix)
    return ET.tostring(root, encoding="unicode")


def _remove_elements(root: ET.Element, names: tuple[str, ...]) -> None:
    tags = {f"{{{SVG_NAMESPACE}}}{name}" for name in names}
    for parent in list(root.iter()):
        for child in list(parent):
            if child.tag in tags:
                parent.remove(child)


def _replace_style(element: ET.Element) -> None:
    """Replace the style attribute with presentation attributes in the page's colours."""
    for name, value in _presentation_attributes(element.attrib.pop("style", "")):
        element.set(name, PAGE_COLOURS.get(value, value))


def _presentation_attributes(style: str) -> Iterator[tuple[str, str]]:
    """Yield a style's declarations as attributes, except the typeface, which the page sets."""
    for declaration in style.split(";"):
        name, _, value = (part.strip() for part in declaration.partition(":"))
        if name == "font":  # older versions of Matplotlib combine size and typeface
            size = re.search(r"[\d.]+px", value)
            yield "font-size", size.group() if size else "10px"
        elif name and name != "font-family":
            yield name, value


def _paint_images(root: ET.Element) -> None:
    """Replace each image of one colour in varying opacity with a rectangle of that page colour.

    The image becomes the rectangle's mask, so the colour follows the page's scheme.
    """
    tags = {name: f"{{{SVG_NAMESPACE}}}{name}" for name in ("image", "mask", "rect")}
    for parent in list(root.iter()):
        for index, image in enumerate(list(parent)):
            identity = image.get("id", "")
            if image.tag != tags["image"] or not identity.startswith(PAINT_PREFIX):
                continue
            place = {name: image.attrib[name] for name in ("x", "y", "width", "height")}
            colour = f"var(--chart-{identity.removeprefix(PAINT_PREFIX)})"
            rectangle = ET.Element(
                tags["rect"],
                {
                    **place,
                    "transform": image.attrib.pop("transform"),
                    "fill": colour,
                    "mask": f"url(#mask-{identity})",
                },
            )
            mask = ET.Element(tags["mask"], {"id": f"mask-{identity}", "mask-type": "alpha"})
            mask.append(image)
            parent[index] = rectangle
            parent.insert(index, mask)


def _prefix_ids(root: ET.Element, prefix: str) -> None:
    """Remove ids without a reference; prefix the others and their references."""
    referenced = set()
    for element in root.iter():
        link = element.attrib.pop(XLINK_HREF, "")
        if link.startswith("#"):
            referenced.add(link[1:])
            element.set("href", f"#{prefix}-{link[1:]}")
        elif link:
            element.set("href", link)
        for attribute in ("clip-path", "mask"):
            target = element.get(attribute, "")
            if target.startswith("url(#"):
                referenced.add(target[5:-1])
                element.set(attribute, f"url(#{prefix}-{target[5:-1]})")
    for element in root.iter():
        identity = element.attrib.pop("id", None)
        if identity in referenced:
            element.set("id", f"{prefix}-{identity}")


def _label(root: ET.Element, title: str, description: str, id_prefix: str) -> None:
    """Present the chart to screen readers as one image with a title and a description."""
    for name in ("width", "height"):  # the page sets the size
        root.attrib.pop(name, None)
    root.attrib |= {
        "role": "img",
        "aria-labelledby": f"{id_prefix}-title",
        "aria-describedby": f"{id_prefix}-desc",
        "fill": "var(--chart-ink)",
        "stroke-linejoin": "round",
        "stroke-linecap": "butt",
    }
    for own_title in root.findall(f"{{{SVG_NAMESPACE}}}title"):
        root.remove(own_title)
    for index, (name, text) in enumerate((("title", title), ("desc", description))):
        element = ET.Element(f"{{{SVG_NAMESPACE}}}{name}", {"id": f"{id_prefix}-{name}"})
        element.text = text
        root.insert(index, element)
