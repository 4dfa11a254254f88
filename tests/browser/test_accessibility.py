"""Every page in every state against WCAG 2.2 AA, as far as a program can tell.

The reference is axe-core (outside of this project) with the rules of WCAG 2.0 to 2.2, levels A and
AA, and its best practices. It finds only part of what can be wrong: a person with a screen reader
is still needed.
"""

import os
import re
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect

from tests.browser.page_states import COUNTED, EMPTY, FILLED, MID_DRILL, PAGES, State, filled

GOLDEN = Path(__file__).parent / "golden"
TAGS = ("wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice")
ALL_RULES = {"runOnly": {"type": "tag", "values": list(TAGS)}}
CONTRAST = {"runOnly": {"type": "rule", "values": ["color-contrast"]}}
LEAST_PX, BUTTON_PX = 24, 44
"""Target sizes of WCAG 2.2: 2.5.8 (AA) for all, 2.5.5 (AAA) for our buttons."""
NARROW, ZOOMED = {"width": 320, "height": 640}, {"width": 640, "height": 400}
"""1.4.10 reflow: 320 CSS px; and a window of 1280 by 800 px at 200 %."""

pytestmark = pytest.mark.usefixtures("home")


def violations(page: Page, rules: dict[str, Any] = ALL_RULES) -> list[str]:
    """Return what axe finds, a line each."""
    found = Axe().run(page, options=rules).response["violations"]
    return [
        f"{one['id']}: {node['html'][:160]} {' '.join(node['failureSummary'].split())[:240]}"
        for one in found
        for node in one["nodes"]
    ]


def test_a_bad_page_is_found_bad(page: Page) -> None:
    """The check can fail."""
    page.goto("about:blank")
    page.set_content(
        "<title></title><main><h1></h1><img src='data:,'><input><a href='#x'>"
        "<span style='color:#999;background:#fff'>pale</span></a>"
        "<button style='width:9px;height:9px;padding:0'>a</button>"
        "<button style='width:9px;height:9px;padding:0'>b</button></main>"
    )
    found = {line.split(":")[0] for line in violations(page)}
    assert {
        "color-contrast",
        "html-has-lang",
        "document-title",
        "image-alt",
        "label",
        "target-size",
    } <= found
    assert small(page) != []


def at(page: Page, site: str, state: State) -> None:
    """Bring the page into a state."""
    go = state.go
    if state.filled:
        go = go.format(**filled())
    if state.begin is not None:
        go = go.format(state.begin())
    page.set_viewport_size({"width": 1280, "height": 800})
    page.add_init_script(COUNTED)
    page.goto(site + go)
    page.wait_for_load_state("networkidle")
    state.act(page)


QUICK = {"practise, told wrong", "measure, result", "speak, reviewed", "report, with a record"}
"""Looked at in the quick suite, along with every page of an empty record."""
STATES = [
    pytest.param(
        state,
        id=state.name,
        marks=() if state in EMPTY or state.name in QUICK else pytest.mark.slow,
    )
    for state in (*EMPTY, *FILLED, *MID_DRILL)
]


@pytest.mark.parametrize("state", STATES)
def test_every_page_in_every_state(page: Page, site: str, state: State) -> None:
    page.emulate_media(color_scheme="light", reduced_motion="reduce")
    at(page, site, state)
    assert violations(page) == []
    # What hangs on the colours alone is looked at again in the others.
    page.emulate_media(color_scheme="dark")
    assert violations(page, CONTRAST) == []
    page.emulate_media(forced_colors="active")
    assert violations(page, CONTRAST) == []
    page.emulate_media(color_scheme="light", forced_colors="none")
    for size in (NARROW, ZOOMED):
        page.set_viewport_size(size)  # type: ignore[arg-type]
        assert sideways(page) == [], size
    assert small(page) == []
    assert frames(page) == []
    page.set_viewport_size({"width": 1280, "height": 800})
    assert skeleton(page) == []
    _golden(page, state.name)


def sideways(page: Page) -> list[str]:
    """Return what makes the page wider than its window: nothing, or the widest elements."""
    found: list[str] = page.evaluate("""() => {
      const wide = document.documentElement.clientWidth;
      if (document.documentElement.scrollWidth <= wide) return [];
      return [...document.querySelectorAll("body *")]
        .filter((one) => one.getBoundingClientRect().right > wide + 1 && !one.closest(".wide *"))
        .map((one) => one.outerHTML.slice(0, 120));
    }""")
    return found


def small(page: Page) -> list[str]:
    """Return the controls in sight that are too small to be hit; links in text are exempt."""
    found: list[str] = page.evaluate(
        """([least, button]) => [...document.querySelectorAll("button, input, select, summary, a")]
      .filter((one) => one.checkVisibility() && !one.classList.contains("skip"))
      .filter((one) => one.tagName !== "A" || getComputedStyle(one).display !== "inline")
      .filter((one) => {
        const { width, height } = one.getBoundingClientRect();
        const label = one.labels?.[0]?.getBoundingClientRect();
        const tall = Math.max(height, ["radio", "checkbox"].includes(one.type) ? label.height : 0);
        const want = one.tagName === "BUTTON" ? button : least;
        return tall < want - 0.5 || Math.max(width, label?.width ?? 0) < least - 0.5;
      }).map((one) => one.outerHTML.slice(0, 120))""",
        [LEAST_PX, BUTTON_PX],
    )
    return found


def frames(page: Page) -> list[str]:
    """Return frames that scroll sideways without being reachable by keyboard and named."""
    page.wait_for_timeout(50)  # the observer of sizes has its turn
    found: list[str] = page.evaluate("""() => [...document.querySelectorAll(".wide")]
      .filter((one) => one.checkVisibility() && one.scrollWidth > one.clientWidth + 1)
      .filter((one) => one.tabIndex !== 0 || one.getAttribute("role") !== "region"
        || !one.getAttribute("aria-label"))
      .map((one) => one.outerHTML.slice(0, 120))""")
    return found


def skeleton(page: Page) -> list[str]:
    """Return what every page must have and this one has not, and motion that was not asked for."""
    found: list[str] = page.evaluate("""() => {
      const wrong = [];
      const only = (selector) => document.querySelectorAll(selector).length === 1 ||
        wrong.push(`not one ${selector}`);
      ["h1", "main", "[role=status]", "a.skip[href='#main']", "html[lang=en]"].forEach(only);
      if (!/\\S - faintcall$/.test(document.title)) wrong.push(`title ${document.title}`);
      const live = document.querySelectorAll("[aria-live], [role=alert], [role=log], output");
      if (live.length) wrong.push("a second live region");
      if (document.getAnimations().length) wrong.push("something moves");
      return wrong;
    }""")
    return found


@pytest.mark.slow
def test_the_focus_can_be_seen_and_reaches_everything(page: Page, site: str) -> None:
    """By Tab through whole pages: each stop is in sight, has a visible ring, and none is a trap."""
    for name in PAGES:
        page.goto(f"{site}/{name}")
        page.wait_for_load_state("networkidle")
        page.evaluate(FROM_THE_TOP)
        stops: list[str] = []
        for _ in range(120):
            page.keyboard.press("Tab")
            stop = page.evaluate(STOP)
            if stop is None:
                break
            assert stop["ring"], (name, stop)
            assert stop["seen"], (name, stop)
            stops.append(stop["html"])
        else:
            raise AssertionError(f"/{name} holds the focus: {stops[-3:]}")
        assert 'class="skip"' in stops[0]
        missed = [one for one in page.evaluate(REACHABLE) if one not in stops]
        assert missed == [], name


FROM_THE_TOP = """() => {
  const top = document.createElement("span");
  top.tabIndex = -1;
  document.body.prepend(top);
  top.focus();
}"""
"""Some pages give the focus to what is wanted first; the walk begins above all."""
STOP = """() => {
  const one = document.activeElement;
  if (one === document.body || !one) return null;
  const style = getComputedStyle(one);
  const box = one.getBoundingClientRect();
  const down = Math.min(box.height, 20) / 2;
  const top = document.elementFromPoint(box.x + box.width / 2, box.y + down);
  return {
    html: one.outerHTML.slice(0, 160),
    ring: style.outlineStyle !== "none" && parseFloat(style.outlineWidth) >= 2,
    seen: box.bottom > 0 && box.top < innerHeight && (one === top || one.contains(top)
      || one.labels?.[0]?.contains(top) || top?.contains(one)),
  };
}"""
REACHABLE = """() => [...document.querySelectorAll(
  "main :is(a, button, select, summary, input:not([type=radio]))")]
  .filter((one) => one.checkVisibility() && !one.disabled && one.tabIndex >= 0)
  .map((one) => one.outerHTML.slice(0, 160))"""


def test_the_skip_link_skips(page: Page, site: str) -> None:
    page.goto(f"{site}/help")
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    page.keyboard.press("Tab")
    expect(page.get_by_role("main").get_by_role("link").first).to_be_focused()


SETTLED = """document.fonts.ready.then(() => new Promise((done) => {
  requestAnimationFrame(() => requestAnimationFrame(() => setTimeout(done, 50)));
}))"""
"""Typefaces are there, and what watches sizes has seen the last one."""


def _golden(page: Page, name: str) -> None:
    """Hold what a screen reader walks against the text that is kept.

    FAINTCALL_GOLDEN=write writes it anew; read the difference before you commit it. Left out are
    figures, dates, identities, rows, the ticks of charts, what is dearest or lost, and what lists
    offer: they are tested elsewhere, and a new preset is no new page.
    """
    page.evaluate(SETTLED)
    shown = re.sub(r"blob:\S+|[0-9a-f]{32}", "ID", page.get_by_role("main").aria_snapshot())
    shown = re.sub(r"(?<![\w=])[-+\u2212]?\d+(\.\d+)?", "N", shown)
    shown = re.sub(r"""(- '?img "[^"]*"'?).*""", r"\1", shown)
    text = "".join(f"{line}\n" for line in shown.splitlines() if not LEFT_OUT.match(line))
    path = GOLDEN / f"{re.sub('[^a-z]+', '-', name.lower())}.txt"
    if os.environ.get("FAINTCALL_GOLDEN") == "write":
        path.parent.mkdir(exist_ok=True)
        path.write_text(text, "utf-8")
    assert text == path.read_text("utf-8"), f"{path.name} differs; FAINTCALL_GOLDEN=write renews it"


LEFT_OUT = re.compile(
    r'\s*- (row|cell|rowheader|option|paragraph: "?(Dearest|Lost most|That is about|The band))\b'
)
