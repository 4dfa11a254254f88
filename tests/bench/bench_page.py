"""Latency from key press to sound in the browser; run by hand: python tests/bench/bench_page.py

Practises by keyboard in a real Chromium and prints the time from Enter (the time stamp of the key's
event) to the start of the sound in the audio graph: for a new item, which the page fetched while
the trainee read the verdict, and for a repeat. The very first sound also opens the audio output.
The output's own latency is printed separately.
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
READING_MS = 2500
"""How long the trainee reads the verdict; the next item is fetched meanwhile."""
LATENCY_PROBE = """
window.latencies = [];
window.contexts = [];
let pressedAt = 0;
document.addEventListener("keydown", (event) => { pressedAt = event.timeStamp; }, true);
document.addEventListener("sound", (event) => {
  if (event.detail) window.latencies.push(performance.now() - pressedAt);
});
const RealContext = window.AudioContext;
window.AudioContext = class extends RealContext {
  constructor(options) {
    super(options);
    window.contexts.push(this);
  }
};
"""


def measure_latencies() -> tuple[list[float], list[float], float]:
    """Return the latencies in ms of new items and of repeats, and the output's latency in ms."""
    from playwright.sync_api import expect, sync_playwright

    from drill.items.plan import Plan
    from drill.session.kinds.practice import Practice
    from tests.browser.conftest import CHROMIUM_ARGUMENTS
    from tests.browser.session_steps import SOUND_COUNTER, begin_in_record, enter, play
    from tests.web.client import running_program

    plan = Plan(seed=5, count=ITEMS, mix="unassigned", voices=("tin",))
    session = begin_in_record(Practice(plan=plan))
    home = Path(os.environ["FAINTCALL_HOME"])
    chromium = os.environ.get("CHROMIUM") or shutil.which("chromium")
    with (
        running_program(home, "page", "--no-browser", "--port", "0") as (_, address),
        sync_playwright() as playwright,
    ):
        browser = playwright.chromium.launch(
            executable_path=chromium, args=list(CHROMIUM_ARGUMENTS)
        )
        page = browser.new_page()
        page.add_init_script(SOUND_COUNTER)
        page.add_init_script(LATENCY_PROBE)
        page.goto(address)
        page.goto(f"{address.split('?')[0]}practise?session={session}")
        expect(page.locator("#answer-line")).to_be_focused(timeout=30_000)
        for number in range(ITEMS):
            page.wait_for_timeout(READING_MS)
            play(page, 2 * number + 1)
            page.wait_for_timeout(300)
            play(page, 2 * number + 2)
            enter(page, ".")
            expect(page.locator("#verdict")).to_be_visible()
        latencies: list[float] = page.evaluate("window.latencies")
        output_ms: float = page.evaluate("1000 * window.contexts[0].outputLatency")
        browser.close()
    return latencies[::2], latencies[1::2], output_ms


def main() -> None:
    """Print the latencies."""
    new, again, output_ms = measure_latencies()
    for name, latencies in (("new item", new), ("played again", again)):
        print(
            f"{name:12} n {len(latencies)}, median {statistics.median(latencies):6.1f} ms, "
            f"max {max(latencies):6.1f} ms (the first {latencies[0]:.1f} ms)"
        )
    print(f"output latency reported by the browser {output_ms:.1f} ms")


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as folder:
        os.environ["FAINTCALL_HOME"] = folder
        main()
