"""The report page in a real browser: sentences, charts, tables, and what is not known."""

import pytest
from playwright.sync_api import Page, expect

from drill.core.paths import record_file
from drill.records.store import Store
from drill.session.courses import Practising
from tests.web.sample_record import fill, keep, plan


@pytest.mark.usefixtures("home")
def test_an_empty_record_is_said_to_be_empty(page: Page, site: str) -> None:
    page.goto(f"{site}/report")
    expect(page.get_by_role("main")).to_contain_text("Nothing is recorded yet")
    expect(page.get_by_role("img")).to_have_count(0)


@pytest.mark.usefixtures("home")
def test_a_short_record_says_what_is_missing(page: Page, site: str) -> None:
    with Store(record_file()) as store:
        keep(store, Practising(plan=plan(3, 3)), 1)
    page.goto(f"{site}/report")
    main = page.get_by_role("main")
    expect(main).to_contain_text("There is no measuring block yet")
    expect(main).to_contain_text("Not enough heard yet")
    expect(main.locator("code").first).to_have_text("faintcall measure")


@pytest.mark.usefixtures("home")
def test_every_chart_has_a_name_a_sentence_and_a_table(page: Page, site: str) -> None:
    fill()
    page.goto(f"{site}/report")
    expect(page.get_by_role("heading", name="Response time")).to_be_visible(timeout=30_000)
    sections = page.locator("section[aria-labelledby^=part-]")
    for number in range(sections.count()):
        section = sections.nth(number)
        heading = section.get_by_role("heading").text_content()
        chart = section.get_by_role("img")
        if chart.count():
            expect(chart).to_have_accessible_name(heading or "")
            described = chart.evaluate("e => e.querySelector('desc').textContent")
            assert (section.locator("p").first.text_content() or "") in described
            expect(section.locator("details table")).to_have_count(1)
    _charts_follow_the_colours(page)
    # By keyboard: from the contents to a section, and a long table opened.
    link = page.get_by_role("link", name="Cost in dB by character")
    link.focus()
    page.keyboard.press("Enter")
    summary = page.get_by_text("Table: Cost in dB by character")
    table = page.get_by_role("table", name="Cost in dB by character")
    expect(table).to_be_hidden()
    summary.focus()
    page.keyboard.press("Enter")
    expect(table).to_be_visible()
    expect(page.get_by_text("faintcall report --to DIR")).to_be_visible()


def _charts_follow_the_colours(page: Page) -> None:
    """Lines and letters of a chart stand out from its ground in light and in dark.

    Source: WCAG 2.2, 1.4.11: 3 to 1 for what is needed to understand a graphic; 1.4.3: 4.5 to 1
    for text. The formula of contrast is WCAG's definition of relative luminance.
    """
    for scheme in ("light", "dark"):
        page.emulate_media(color_scheme=scheme)
        found = page.evaluate(CONTRASTS)
        assert found["ink"] >= 4.5, (scheme, found)
        assert found["first"] >= 3, (scheme, found)
        assert found["second"] >= 3, (scheme, found)


CONTRASTS = """() => {
  const chart = document.querySelector("svg.chart");
  const probe = document.createElement("span");
  chart.parentElement.append(probe);
  const light = (name) => {
    probe.style.setProperty("color", `var(--chart-${name})`);
    const parts = getComputedStyle(probe).color.match(/[\\d.]+/g).slice(0, 3).map((one) => {
      const share = one / 255;
      return share <= 0.04045 ? share / 12.92 : ((share + 0.055) / 1.055) ** 2.4;
    });
    return 0.2126 * parts[0] + 0.7152 * parts[1] + 0.0722 * parts[2];
  };
  const ground = light("ground");
  const against = (name) => {
    const two = [light(name), ground].sort((a, b) => b - a);
    return (two[0] + 0.05) / (two[1] + 0.05);
  };
  const found = {ink: against("ink"), first: against("first"), second: against("second")};
  probe.remove();
  return found;
}"""
