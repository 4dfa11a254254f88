"""The colours of the pages against WCAG 2.2: letters 4.5:1 (1.4.3), edges and rings 3:1 (1.4.11).

Relative luminance and contrast ratio as WCAG 2.2 defines them (glossary, "relative luminance" and
"contrast ratio"); its own examples, black on white 21:1, and #777777 on white 4.48:1 of the
working group's technique G18, hold the formula here.
"""

import re
from importlib.resources import files
from pathlib import Path

import numpy as np
import pytest
from matplotlib.image import imread
from playwright.sync_api import Page

STYLE = files("drill.web").joinpath("static", "tokens.css").read_text("utf-8")
TOKENS = {
    name: (light, dark)
    for name, light, dark in re.findall(
        r"--([\w-]+): light-dark\((#[0-9a-f]{6}), (#[0-9a-f]{6})\);", STYLE
    )
}
GROUNDS = ("ground", "raised", "sunk")
LETTERS = [
    *((ink, on) for ink in ("ink", "soft", "accent", "right", "wrong") for on in GROUNDS),
    ("on-accent", "accent"),
    ("on-accent", "accent-deep"),
    ("on-notice", "notice"),
]
EDGES = [
    *((edge, on) for edge in ("edge", "focus") for on in ("ground", "raised")),
    ("focus", "notice"),
    ("chart-second", "raised"),
]


def luminance(colour: str) -> float:
    """Return the relative luminance of #rrggbb, 0 to 1."""
    parts = [int(colour[n : n + 2], 16) / 255 for n in (1, 3, 5)]
    red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """Return the contrast ratio of two colours, 1 to 21."""
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def test_the_formula_is_that_of_wcag() -> None:
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.005)


@pytest.mark.parametrize("scheme", [0, 1], ids=["light", "dark"])
@pytest.mark.parametrize(("pairs", "least"), [(LETTERS, 4.5), (EDGES, 3.0)], ids=["ink", "edge"])
def test_every_pair_can_be_told_apart(
    pairs: list[tuple[str, str]], least: float, scheme: int
) -> None:
    ratios = {pair: contrast(*(TOKENS[name][scheme] for name in pair)) for pair in pairs}
    assert {pair: round(one, 2) for pair, one in ratios.items() if one < least} == {}


@pytest.mark.usefixtures("home")
@pytest.mark.parametrize("where", ["/", "/practise", "/settings"])
def test_a_page_is_light_dark_and_narrow(page: Page, site: str, where: str, tmp_path: Path) -> None:
    """Pictures of it: the ground is that of its scheme, and something stands on it."""
    for scheme, width, at in (("light", 1100, 0), ("dark", 1100, 1), ("light", 320, 0)):
        page.emulate_media(color_scheme=scheme, reduced_motion="reduce")  # type: ignore[arg-type]
        page.set_viewport_size({"width": width, "height": 800})
        page.goto(site + where)
        page.wait_for_load_state("networkidle")
        picture = tmp_path / "picture.png"
        page.screenshot(path=picture)
        pixels = imread(picture)[..., :3].reshape(-1, 3)
        assert len(pixels) == width * 800
        ground = np.array([int(TOKENS["ground"][at][n : n + 2], 16) for n in (1, 3, 5)]) / 255
        share = float(np.mean(np.abs(pixels - ground).max(axis=1) < 0.01))
        assert 0.3 < share < 0.99, (scheme, width)
        assert page.evaluate("document.documentElement.scrollWidth") <= width
