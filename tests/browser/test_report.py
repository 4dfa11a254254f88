"""The report page: sentences, charts, tables, and figures that are not known yet."""

import pytest
from playwright.sync_api import Page, expect

from drill.core.paths import record_file
from drill.records.store import Store
from drill.session.kinds.practice import Practice
from tests.drill.machine_copies import copy_without_sound
from tests.drill.simulated_trainee import record_session
from tests.web.sample_record import fill_record, sample_plan

pytestmark = pytest.mark.usefixtures("home")


def test_empty_record_is_reported_as_empty(page: Page, site: str) -> None:
    page.goto(f"{site}/report")
    expect(page.get_by_role("main")).to_contain_text("Nothing is recorded yet")
    expect(page.get_by_role("img")).to_have_count(0)


def test_short_record_says_what_is_missing(page: Page, site: str) -> None:
    with Store(record_file()) as store:
        record_session(store, Practice(plan=sample_plan(3, 3)), day=1)
    page.goto(f"{site}/report")
    main = page.get_by_role("main")
    expect(main).to_contain_text("There is no measurement yet")
    expect(main).to_contain_text("There are too few answers")


@pytest.mark.slow
def test_every_chart_has_a_name_a_description_and_a_table(page: Page, site: str) -> None:
    fill_record()
    page.goto(f"{site}/report")
    expect(page.get_by_role("heading", name="Response time")).to_be_visible()
    sections = page.locator("section[aria-labelledby^=section-]")
    for number in range(sections.count()):
        section = sections.nth(number)
        heading = section.get_by_role("heading").text_content()
        chart = section.get_by_role("img")
        if chart.count():
            expect(chart).to_have_accessible_name(heading or "")
            description = chart.evaluate("e => e.querySelector('desc').textContent")
            assert (section.locator("p").first.text_content() or "") in description
            expect(section.locator("details table")).to_have_count(1)
    check_chart_contrast(page)
    # By keyboard: from the contents to a section, and a long table opened.
    page.get_by_role("link", name="Cost in dB by character").focus()
    page.keyboard.press("Enter")
    summary = page.get_by_text("Table: Cost in dB by character")
    table = page.get_by_role("table", name="Cost in dB by character")
    expect(table).to_be_hidden()
    summary.focus()
    page.keyboard.press("Enter")
    expect(table).to_be_visible()
    expect(page.get_by_text("faintcall report --to DIR")).to_be_visible()


@pytest.mark.slow
def test_a_machine_copies_the_same_calls_on_request(
    page: Page, site: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    copy_without_sound(monkeypatch)
    monkeypatch.setattr("drill.web.api.machine_copies.REQUEST_S", 0.1)
    fill_record()
    page.goto(f"{site}/report")
    page.get_by_role("button", name="Let the recogniser copy them").click()
    curve = page.locator("section[aria-labelledby=section-curve-1]")
    expect(curve).to_contain_text("silent 1")
    expect(curve.get_by_role("img")).to_contain_text("of the same calls: not a human score")
    expect(page.get_by_role("button", name="Let the recogniser copy them")).to_be_hidden()


def check_chart_contrast(page: Page) -> None:
    """Check lines and text of a chart against its background in light and dark.

    Source: WCAG 2.2: 3:1 for what is needed to understand a graphic (1.4.11), 4.5:1 for text
    (1.4.3), contrast by its definition of relative luminance.
    """
    for scheme in ("light", "dark"):
        page.emulate_media(color_scheme=scheme)
        contrasts = page.evaluate(CHART_CONTRASTS)
        assert contrasts["ink"] >= 4.5, (scheme, contrasts)
        assert contrasts["first"] >= 3, (scheme, contrasts)
        assert contrasts["second"] >= 3, (scheme, contrasts)


CHART_CONTRASTS = """() => {
  const chart = document.querySelector("svg.chart");
  const probe = document.createElement("span");
  chart.parentElement.append(probe);
  const luminance = (name) => {
    probe.style.setProperty("color", `var(--chart-${name})`);
    const parts = getComputedStyle(probe).color.match(/[\\d.]+/g).slice(0, 3).map((value) => {
      const share = value / 255;
      return share <= 0.04045 ? share / 12.92 : ((share + 0.055) / 1.055) ** 2.4;
    });
    return 0.2126 * parts[0] + 0.7152 * parts[1] + 0.0722 * parts[2];
  };
  const ground = luminance("ground");
  const contrast = (name) => {
    const [high, low] = [luminance(name), ground].sort((a, b) => b - a);
    return (high + 0.05) / (low + 0.05);
  };
  const result = {ink: contrast("ink"), first: contrast("first"), second: contrast("second")};
  probe.remove();
  return result;
}"""
