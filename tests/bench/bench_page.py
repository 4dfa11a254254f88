"""From the key to the sound in the browser; run by hand: python tests/bench/bench_page.py

Practises by keyboard in a real Chromium and prints how long it takes from Enter (the time stamp of
the key's event) to the start of the sound in the audio graph: for an item that was fetched ahead,
as it is after an answer, and for hearing it again.
The very first one opens the output. The output's own latency is printed beside.
"""

import os
import shutil
import statistics
import sys
import tempfile
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
sys.path.insert(0, str(Path(__file__).parents[2]))

ITEMS = 20
FETCHED_MS = 2500
"""How long a listener reads the verdict here; the next item is fetched meanwhile."""
TIMED = """
window.waits = [];
window.contexts = [];
let pressed = 0;
document.addEventListener("keydown", (event) => { pressed = event.timeStamp; }, true);
document.addEventListener("sound", (event) => {
  if (event.detail) window.waits.push(performance.now() - pressed);
});
const Real = window.AudioContext;
window.AudioContext = class extends Real {
  constructor(how) {
    super(how);
    window.contexts.push(this);
  }
};
"""


def waits() -> tuple[list[float], list[float], float]:
    """Return the times in ms of new items and of repeats, and the output's latency in ms."""
    from playwright.sync_api import expect, sync_playwright

    from drill.items.plan import Plan
    from drill.session.kinds.practice import Practice
    from tests.browser.conftest import QUIET
    from tests.browser.page_states import COUNTED, sounding
    from tests.browser.session_steps import begun, enter
    from tests.web.client import program

    identity = begun(Practice(plan=Plan(seed=5, count=ITEMS, mix="unassigned", voices=("tin",))))
    home = Path(os.environ["FAINTCALL_HOME"])
    chromium = os.environ.get("CHROMIUM") or shutil.which("chromium")
    with (
        program(home, "page", "--no-browser", "--port", "0") as (_, address),
        sync_playwright() as playwright,
    ):
        browser = playwright.chromium.launch(executable_path=chromium, args=list(QUIET))
        page = browser.new_page()
        page.add_init_script(COUNTED)
        page.add_init_script(TIMED)
        page.goto(address)
        page.goto(f"{address.split('?')[0]}practise?go={identity}")
        expect(page.locator("#copy")).to_be_focused(timeout=30_000)
        for number in range(ITEMS):
            page.wait_for_timeout(FETCHED_MS)
            enter(page)
            sounding(page, 2 * number + 1)
            page.wait_for_timeout(300)
            enter(page)
            sounding(page, 2 * number + 2)
            enter(page, ".")
            expect(page.locator("#verdict")).to_be_visible()
        found: list[float] = page.evaluate("window.waits")
        latency: float = page.evaluate("1000 * window.contexts[0].outputLatency")
        browser.close()
    return found[::2], found[1::2], latency


def main() -> None:
    """Print the table."""
    new, again, latency = waits()
    for name, found in (("a new item", new), ("hear it again", again)):
        print(
            f"{name:14} n {len(found)}, median {statistics.median(found):6.1f} ms, "
            f"max {max(found):6.1f} ms (the first {found[0]:.1f} ms)"
        )
    print(f"output latency told by the browser {latency:.1f} ms")


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as folder:
        os.environ["FAINTCALL_HOME"] = folder
        main()
