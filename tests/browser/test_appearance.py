"""Screenshots: pages in light, dark and narrow windows."""

from pathlib import Path

import numpy as np
import pytest
from matplotlib.image import imread
from playwright.sync_api import Page

from tests.web.test_colours import TOKENS


@pytest.mark.usefixtures("home")
@pytest.mark.parametrize(
    "path",
    [
        "/",
        pytest.param("/practise", marks=pytest.mark.slow),
        pytest.param("/settings", marks=pytest.mark.slow),
    ],
)
def test_page_has_the_background_of_its_scheme_and_fits_its_window(
    page: Page, site: str, path: str, tmp_path: Path
) -> None:
    """The scheme's background colours cover 30 to 99 % of the window; the rest is content."""
    page.goto(site + path)
    page.wait_for_load_state("networkidle")
    for scheme, width, index in (("light", 1100, 0), ("dark", 1100, 1), ("light", 320, 0)):
        page.emulate_media(color_scheme=scheme, reduced_motion="reduce")  # type: ignore[arg-type]
        page.set_viewport_size({"width": width, "height": 800})
        screenshot = tmp_path / "screenshot.png"
        page.screenshot(path=screenshot)
        pixels = imread(screenshot)[..., :3].reshape(-1, 3)
        assert len(pixels) == width * 800
        share = 0.0
        for name in ("ground", "night"):
            colour = TOKENS[name][index]
            ground = np.array([int(colour[n : n + 2], 16) for n in (1, 3, 5)]) / 255
            share += float(np.mean(np.abs(pixels - ground).max(axis=1) < 0.01))
        assert 0.3 < share < 0.99, (scheme, width)
        assert page.evaluate("document.documentElement.scrollWidth") <= width
