"""Checks of one loaded page: WCAG rules, reflow, target sizes, frames and landmarks.

axe-core (an outside reference) checks the rules of WCAG 2.0 to 2.2, levels A and AA, and its best
practices. It finds only some of the possible faults, so a person with a screen reader still has to
check the pages.
"""

from typing import Any

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

TAGS = ("wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice")
ALL_RULES = {"runOnly": {"type": "tag", "values": list(TAGS)}}
CONTRAST_RULE = {"runOnly": {"type": "rule", "values": ["color-contrast"]}}
MIN_TARGET_PX, MIN_BUTTON_PX = 24, 44
"""Target sizes of WCAG 2.2: 2.5.8 (AA) for all controls, 2.5.5 (AAA) for buttons."""


def violations(page: Page, rules: dict[str, Any] = ALL_RULES) -> list[str]:
    """Return axe's findings, one line each."""
    return [
        f"{rule['id']}: {node['html'][:160]} {' '.join(node['failureSummary'].split())[:240]}"
        for rule in Axe().run(page, options=rules).response["violations"]
        for node in rule["nodes"]
    ]


def overflowing_elements(page: Page) -> list[str]:
    """Return the elements that make the page wider than its window."""
    elements: list[str] = page.evaluate("""() => {
      const width = document.documentElement.clientWidth;
      if (document.documentElement.scrollWidth <= width) return [];
      return [...document.querySelectorAll("body *")]
        .filter((e) => e.getBoundingClientRect().right > width + 1 && !e.closest(".scrollable *"))
        .map((e) => e.outerHTML.slice(0, 120));
    }""")
    return elements


def small_targets(page: Page) -> list[str]:
    """Return the visible controls that are smaller than required; links within text are exempt."""
    elements: list[str] = page.evaluate(
        """([minimum, button]) =>
      [...document.querySelectorAll("button, input, select, summary, a")]
      .filter((e) => e.checkVisibility())
      .filter((e) => e.tagName !== "A" || getComputedStyle(e).display !== "inline")
      .filter((e) => {
        const { width, height } = e.getBoundingClientRect();
        const label = e.labels?.[0]?.getBoundingClientRect();
        const tall = Math.max(height, ["radio", "checkbox"].includes(e.type) ? label.height : 0);
        const required = e.tagName === "BUTTON" ? button : minimum;
        return tall < required - 0.5 || Math.max(width, label?.width ?? 0) < minimum - 0.5;
      }).map((e) => e.outerHTML.slice(0, 120))""",
        [MIN_TARGET_PX, MIN_BUTTON_PX],
    )
    return elements


def unreachable_frames(page: Page) -> list[str]:
    """Return scrolling frames that have no name or that the keyboard cannot reach."""
    page.wait_for_timeout(50)  # lets the ResizeObserver run
    elements: list[str] = page.evaluate("""() => [...document.querySelectorAll(".scrollable")]
      .filter((e) => e.checkVisibility() && e.scrollWidth > e.clientWidth + 1)
      .filter((e) => e.tabIndex !== 0 || e.getAttribute("role") !== "region"
        || !e.getAttribute("aria-label"))
      .map((e) => e.outerHTML.slice(0, 120))""")
    return elements


def missing_parts(page: Page) -> list[str]:
    """Return required elements that the page lacks, and any motion that nobody asked for."""
    problems: list[str] = page.evaluate("""() => {
      const problems = [];
      for (const selector of
        ["h1", "main", "[role=status]", "a[href='#pages']", "#pages", "html[lang=en]"]) {
        const count = document.querySelectorAll(selector).length;
        if (count !== 1) problems.push(`${count} elements ${selector}`);
      }
      if (!/\\S - faintcall$/.test(document.title)) problems.push(`title ${document.title}`);
      const live = document.querySelectorAll("[aria-live], [role=alert], [role=log], output");
      if (live.length) problems.push("a second live region");
      if (document.getAnimations().length) problems.push("an animation");
      return problems;
    }""")
    return problems
