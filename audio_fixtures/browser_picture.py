"""Opens the page in a browser for a picture; its record is in a temporary folder.

Needs Chromium, and the environment that `python3 -m drill.start --test` makes.
"""

import os
import shutil
import sys
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

sys.path.insert(0, str(Path(__file__).parents[1]))
FOLDER = Path(__file__).parent

if TYPE_CHECKING:
    from playwright.sync_api import Page


@contextmanager
def open_page(width: int, height: int, prepare: Callable[[], str]) -> Iterator["Page"]:
    """Yield a logged-in page in the light scheme.

    width, height: of the window, in CSS pixels. prepare: fills the record and returns the path of
    the page to open.
    """
    from playwright.sync_api import sync_playwright

    from tests.browser.conftest import CHROMIUM_ARGUMENTS
    from tests.browser.session_steps import SOUND_COUNTER
    from tests.web.client import running_program

    chromium = os.environ.get("CHROMIUM") or shutil.which("chromium")
    with tempfile.TemporaryDirectory() as home:
        os.environ["FAINTCALL_HOME"] = home
        path = prepare()
        with (
            running_program(Path(home), "page", "--no-browser", "--port", "0") as (_, address),
            sync_playwright() as playwright,
        ):
            browser = playwright.chromium.launch(
                executable_path=chromium, args=list(CHROMIUM_ARGUMENTS)
            )
            page = browser.new_page(
                viewport={"width": width, "height": height},
                color_scheme="light",
                reduced_motion="reduce",
            )
            page.add_init_script(SOUND_COUNTER)
            page.goto(address)
            page.goto(f"{address.split('?')[0]}{path}")
            yield page
            browser.close()


def save_picture(page: "Page", name: str) -> None:
    """Save what the window shows as a PNG file in this folder, once nothing moves."""
    page.wait_for_timeout(300)
    page.screenshot(path=FOLDER / name)
