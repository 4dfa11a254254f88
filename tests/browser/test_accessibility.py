"""Every page in every state: WCAG 2.2 AA, reflow, and the text that a screen reader reads.

The text is compared with golden files. FAINTCALL_GOLDEN=write rewrites them; read the difference
before you commit it.
"""

import os
import re
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from drill.core.paths import data_folder
from tests.browser.accessibility import (
    CONTRAST_RULE,
    missing_parts,
    overflowing_elements,
    small_targets,
    unreachable_frames,
    violations,
)
from tests.browser.page_states import EMPTY, FILLED, IN_SESSION, PAGES, PageState, show_state
from tests.browser.session_steps import SOUND_COUNTER

GOLDEN = Path(__file__).parent / "golden"
WIDE = {"width": 1280, "height": 800}
NARROW, ZOOMED = {"width": 320, "height": 640}, {"width": 640, "height": 400}
"""WCAG 1.4.10 (reflow): 320 CSS px; and a window of 1280 by 800 px at 200 %."""
QUICK = {"start, nothing recorded", "practise, wrong answer"}
"""States that the quick suite checks too."""
STATES = [
    pytest.param(state, id=state.name, marks=() if state.name in QUICK else pytest.mark.slow)
    for state in (*EMPTY, *FILLED, *IN_SESSION)
]

pytestmark = pytest.mark.usefixtures("home")


def test_the_checks_find_the_faults_of_a_bad_page(page: Page) -> None:
    page.goto("about:blank")
    page.set_content(
        "<title></title><main><h1></h1><img src='data:,'><input><a href='#x'>"
        "<span style='color:#999;background:#fff'>pale</span></a>"
        "<button style='width:9px;height:9px;padding:0'>a</button>"
        "<button style='width:9px;height:9px;padding:0'>b</button></main>"
    )
    rules = {line.split(":")[0] for line in violations(page)}
    assert {
        "color-contrast",
        "html-has-lang",
        "document-title",
        "image-alt",
        "label",
        "target-size",
    } <= rules
    assert small_targets(page) != []


@pytest.mark.parametrize("state", STATES)
def test_page_is_accessible_in_every_state(page: Page, site: str, state: PageState) -> None:
    page.emulate_media(color_scheme="light", reduced_motion="reduce")
    page.set_viewport_size(WIDE)  # type: ignore[arg-type]
    page.add_init_script(SOUND_COUNTER)
    show_state(page, site, state)
    assert violations(page) == []
    # Only the contrast depends on the colours.
    page.emulate_media(color_scheme="dark")
    assert violations(page, CONTRAST_RULE) == []
    page.emulate_media(forced_colors="active")
    assert violations(page, CONTRAST_RULE) == []
    page.emulate_media(color_scheme="light", forced_colors="none")
    for size in (NARROW, ZOOMED):
        page.set_viewport_size(size)  # type: ignore[arg-type]
        assert overflowing_elements(page) == [], size
    assert small_targets(page) == []
    assert unreachable_frames(page) == []
    page.set_viewport_size(WIDE)  # type: ignore[arg-type]
    assert missing_parts(page) == []
    if not state.path.startswith("/help/"):  # other tests check the text of the manual
        compare_with_golden_file(page, state.name)


LAYOUT_SETTLED = """document.fonts.ready.then(() => new Promise((resolve) => {
  requestAnimationFrame(() => requestAnimationFrame(() => setTimeout(resolve, 50)));
}))"""
"""Waits for the typefaces and for the ResizeObservers."""
LEFT_OUT = re.compile(
    r"\s*- (row|cell|rowheader|option|"
    r'paragraph: "?(Highest cost|The most frequent error|Most is lost|Your voice is about|'
    r"The band))\b"
)
"""Lines that depend on the data: tables, options, and sentences about the highest losses."""


def compare_with_golden_file(page: Page, name: str) -> None:
    """Compare what a screen reader reads with the golden file of a state.

    Figures, dates, the time of day, identities, table rows, chart labels and the options of selects
    are left out: other tests check them, and a new preset does not have to change a golden file.
    """
    page.evaluate(LAYOUT_SETTLED)
    snapshot = page.get_by_role("main").aria_snapshot()
    snapshot = snapshot.replace("Tonight: ", "Today: ")  # depends on the time of day
    snapshot = snapshot.replace(str(data_folder()), "FOLDER")
    snapshot = re.sub(r"blob:\S+|[0-9a-f]{32}", "ID", snapshot)
    snapshot = re.sub(r"(?<![\w=])[-+\u2212]?\d+(\.\d+)?", "N", snapshot)
    snapshot = re.sub(r"""(- '?img "[^"]*"'?).*""", r"\1", snapshot)
    lines = [line for line in snapshot.splitlines() if not LEFT_OUT.match(line)]
    text = "".join(f"{line}\n" for line in lines)
    path = GOLDEN / f"{re.sub('[^a-z]+', '-', name.lower())}.txt"
    if os.environ.get("FAINTCALL_GOLDEN") == "write":
        path.write_text(text, "utf-8")
    assert text == path.read_text("utf-8"), (
        f"{path.name} differs; FAINTCALL_GOLDEN=write rewrites it"
    )


@pytest.mark.slow
def test_tab_reaches_every_control_with_a_visible_focus(page: Page, site: str) -> None:
    """Each focused control is in sight with a visible ring; Tab on the last one leaves the page."""
    for name in PAGES:
        page.goto(f"{site}/{name}")
        page.wait_for_load_state("networkidle")
        page.evaluate(FOCUS_TOP)
        stops: list[str] = []
        for _ in range(120):
            page.keyboard.press("Tab")
            stop = page.evaluate(FOCUSED_ELEMENT)
            if stop is None:
                break
            assert stop["ring"], (name, stop)
            assert stop["visible"], (name, stop)
            stops.append(stop["html"])
        else:
            raise AssertionError(f"/{name} traps the focus: {stops[-3:]}")
        assert 'class="brand"' in stops[0]
        missed = [html for html in page.evaluate(REACHABLE) if html not in stops]
        assert missed == [], name


FOCUS_TOP = """() => {
  const top = document.createElement("span");
  top.tabIndex = -1;
  document.body.prepend(top);
  top.focus();
}"""
"""Script that focuses the top of the page, because some pages focus a control when they load."""
FOCUSED_ELEMENT = """() => {
  const focused = document.activeElement;
  if (focused === document.body || !focused) return null;
  const style = getComputedStyle(focused);
  const box = focused.getBoundingClientRect();
  const down = Math.min(box.height, 20) / 2;
  const top = document.elementFromPoint(box.x + box.width / 2, box.y + down);
  return {
    html: focused.outerHTML.slice(0, 160),
    ring: style.outlineStyle !== "none" && parseFloat(style.outlineWidth) >= 2,
    visible: box.bottom > 0 && box.top < innerHeight && (focused === top || focused.contains(top)
      || focused.labels?.[0]?.contains(top) || top?.contains(focused)),
  };
}"""
REACHABLE = """() => [...document.querySelectorAll(
  "main :is(a, button, select, summary, input:not([type=radio]))")]
  .filter((e) => e.checkVisibility() && !e.disabled && e.tabIndex >= 0)
  .map((e) => e.outerHTML.slice(0, 160))"""


def test_the_link_at_the_top_leads_to_the_list_of_pages(page: Page, site: str) -> None:
    page.goto(f"{site}/help")
    page.get_by_role("link", name="All pages").press("Enter")
    page.keyboard.press("Tab")
    expect(page.get_by_role("contentinfo").get_by_role("link").first).to_be_focused()
