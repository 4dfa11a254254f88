"""Make page.png again, a picture of the drill page: python audio_fixtures/picture_page.py

Needs Chromium, and the environment that `python3 -m drill.start --test` makes. One item of a seed
is heard and answered with one character wrong; home is a folder that goes afterwards.
"""

import os
import shutil
import sys
import tempfile
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))
FOLDER = Path(__file__).parent


def main() -> None:
    """Answer two items of a sitting in a browser and keep what it shows."""
    from playwright.sync_api import expect, sync_playwright

    from drill.items.plan import Plan, compose_item
    from drill.session.courses import Practising
    from tests.browser.conftest import QUIET
    from tests.browser.session_steps import begun, enter
    from tests.browser.page_states import COUNTED, sounding
    from tests.web.client import program

    plan = Plan(seed=24, count=10, mix="unassigned", part="over", voices=("tin", "wren"))
    first, second = (
        " ".join(field.text for field in compose_item(plan, number).message.fields) for number in (0, 1)
    )
    identity = begun(Practising(plan=plan))
    chromium = os.environ.get("CHROMIUM") or shutil.which("chromium")
    home = Path(os.environ["FAINTCALL_HOME"])
    with (
        program(home, "page", "--no-browser", "--port", "0") as (_, address),
        sync_playwright() as playwright,
    ):
        browser = playwright.chromium.launch(executable_path=chromium, args=list(QUIET))
        page = browser.new_page(viewport={"width": 1100, "height": 770}, color_scheme="light")
        page.add_init_script(COUNTED)
        page.goto(address)
        page.goto(f"{address.split('?')[0]}practise?go={identity}")
        expect(page.locator("#copy")).to_be_focused(timeout=30_000)
        for number, text in enumerate((first, second[:3] + "?" + second[4:])):
            enter(page)
            sounding(page, number + 1)
            enter(page, text)
            expect(page.locator("#verdict")).to_be_visible()
        page.wait_for_timeout(300)
        page.screenshot(path=FOLDER / "page.png")
        browser.close()


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as folder:
        os.environ["FAINTCALL_HOME"] = folder
        main()
