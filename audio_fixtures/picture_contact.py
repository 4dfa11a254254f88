"""Make contact.png again, a picture of a contact: python audio_fixtures/picture_contact.py

Needs Chromium, and the environment that `python3 -m drill.start --test` makes. Calls a station,
notes what it answers, and types the letter of the exchange. The record is in a temporary folder.
"""

import os
import shutil
import sys
import tempfile
from dataclasses import replace
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))
FOLDER = Path(__file__).parent


def main() -> None:
    """Play half a contact in a browser and take a screenshot."""
    from playwright.sync_api import expect, sync_playwright

    from tests.browser.conftest import CHROMIUM_ARGUMENTS
    from tests.browser.contact_steps import (
        OPTIONS,
        begin_contacts,
        listen,
        open_contact,
        send,
        sounds_ended,
    )
    from tests.browser.session_steps import enter
    from tests.web.client import running_program

    session = begin_contacts(replace(OPTIONS, count=10))
    chromium = os.environ.get("CHROMIUM") or shutil.which("chromium")
    home = Path(os.environ["FAINTCALL_HOME"])
    with (
        running_program(home, "page", "--no-browser", "--port", "0") as (_, address),
        sync_playwright() as playwright,
    ):
        browser = playwright.chromium.launch(
            executable_path=chromium, args=list(CHROMIUM_ARGUMENTS)
        )
        page = browser.new_page(viewport={"width": 1100, "height": 640}, color_scheme="light")
        page.goto(address)
        open_contact(page, address.split("/?")[0], session)
        listen(page)
        enter(page, "x61ccw")
        send(page, "m")
        sounds_ended(page, 2)
        enter(page, "59 010")
        expect(page.locator("#will")).to_contain_text("59 010")
        page.keyboard.type("x")
        page.wait_for_timeout(300)
        page.screenshot(path=FOLDER / "contact.png")
        browser.close()


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as folder:
        os.environ["FAINTCALL_HOME"] = folder
        main()
