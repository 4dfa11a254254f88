"""Make page.png again, a picture of the practice page: python audio_fixtures/picture_page.py

Needs Chromium, and the environment that `python3 -m drill.start --test` makes. Answers two items,
the second with one wrong character. The record is in a temporary folder.
"""

import os
import shutil
import sys
import tempfile
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))
FOLDER = Path(__file__).parent


def main() -> None:
    """Answer two items of a session in a browser and take a screenshot."""
    from playwright.sync_api import expect, sync_playwright

    from drill.items.plan import Plan, compose_item
    from drill.session.kinds.practice import Practice
    from tests.browser.conftest import CHROMIUM_ARGUMENTS
    from tests.browser.session_steps import SOUND_COUNTER, begin_in_record, enter, play
    from tests.web.client import correct_answer, running_program

    plan = Plan(seed=24, count=10, mix="unassigned", part="over", voices=("tin", "wren"))
    first, second = (correct_answer(compose_item(plan, number)) for number in (0, 1))
    session = begin_in_record(Practice(plan=plan))
    chromium = os.environ.get("CHROMIUM") or shutil.which("chromium")
    home = Path(os.environ["FAINTCALL_HOME"])
    with (
        running_program(home, "page", "--no-browser", "--port", "0") as (_, address),
        sync_playwright() as playwright,
    ):
        browser = playwright.chromium.launch(
            executable_path=chromium, args=list(CHROMIUM_ARGUMENTS)
        )
        page = browser.new_page(viewport={"width": 1100, "height": 800}, color_scheme="light")
        page.add_init_script(SOUND_COUNTER)
        page.goto(address)
        page.goto(f"{address.split('?')[0]}practise?session={session}")
        expect(page.locator("#answer-line")).to_be_focused(timeout=30_000)
        for number, text in enumerate((first, second[:3] + "?" + second[4:])):
            play(page, number + 1)
            enter(page, text)
            expect(page.locator("#heard .strip")).to_be_visible()
        page.wait_for_timeout(300)
        page.screenshot(path=FOLDER / "page.png")
        browser.close()


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as folder:
        os.environ["FAINTCALL_HOME"] = folder
        main()
