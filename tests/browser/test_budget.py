"""The budget page, by keyboard in a real browser."""

import pytest
from playwright.sync_api import Page, expect

pytestmark = pytest.mark.usefixtures("home")


@pytest.fixture
def form(page: Page, site: str) -> Page:
    page.goto(f"{site}/budget")
    page.get_by_label("Frequency, MHz").focus()
    return page


def tab_to(page: Page, name: str, most: int = 40) -> None:
    """Go on by Tab until the field of this id or name has the focus."""
    for _ in range(most):
        if page.evaluate("document.activeElement.id") == name:
            return
        page.keyboard.press("Tab")
    raise AssertionError(f"{name} is not reached by keyboard")


def replace(page: Page, text: str) -> None:
    page.keyboard.press("Control+A")
    page.keyboard.type(text)


def test_both_ends_by_keyboard(form: Page) -> None:
    """100 W give 12 dB: 5 W give 13.0 dB less, as 10 lg(5/100) has it."""
    tab_to(form, "path_snr")
    replace(form, "12")
    form.keyboard.press("Enter")
    expect(form.get_by_role("heading", name="What arrives")).to_be_visible()
    rows = form.get_by_role("row")
    expect(rows.filter(has_text="my signal there").get_by_role("cell").nth(1)).to_have_text("-1.0")
    expect(form.locator("#answer")).to_contain_text("plans no actual circuit")
    expect(form.get_by_role("status")).to_contain_text("My signal arrives there with -1.0 dB")
    # The focus stays where it was: the field can be changed and sent again.
    assert form.evaluate("document.activeElement.id") == "path_snr"
    replace(form, "22")
    form.keyboard.press("Enter")
    expect(rows.filter(has_text="my signal there").get_by_role("cell").nth(1)).to_have_text("+9.0")


def test_an_s_reading_and_a_short_wire(form: Page) -> None:
    tab_to(form, "by-snr")
    form.keyboard.press("ArrowDown")
    tab_to(form, "path_s")
    replace(form, "9+10")
    form.get_by_text("Losses of a short wire").focus()
    form.keyboard.press("Enter")
    tab_to(form, "wire-db")
    form.keyboard.press("ArrowDown")
    expect(form.get_by_label("Loss by shortening, dB")).to_be_hidden()
    tab_to(form, "wire_length")
    replace(form, "1.5")
    form.keyboard.press("Enter")
    expect(form.locator("#answer")).to_contain_text("shortening")
    assert "shortening 0.0 dB" not in (form.locator("#answer").text_content() or "")


@pytest.mark.parametrize(
    ("field", "text", "told"),
    [
        ("watts", "3000", "My power, W PEP: give 0.001 to 2000."),
        ("frequency", "", "Frequency, MHz: give 0.3 to 30."),
        ("path_s", "S-ten", "no S reading; give 0 to 9, or 9+1 to 9+60"),
    ],
)
def test_a_mistake_is_tied_to_its_field(form: Page, field: str, text: str, told: str) -> None:
    """What the browser can tell is told at once; what the server tells names its field too."""
    if field == "path_s":
        form.get_by_label("Given as an S reading").check()
    form.locator(f"#{field}").focus()
    replace(form, text)
    form.keyboard.press("Delete")
    form.keyboard.press("Enter")
    problem = form.locator("#problem")
    expect(problem).to_contain_text(told)
    assert form.evaluate("document.activeElement.id") == field
    wrong = form.locator(f"#{field}")
    expect(wrong).to_have_attribute("aria-invalid", "true")
    assert "problem" in (wrong.get_attribute("aria-describedby") or "").split()
    replace(form, "9")
    form.keyboard.press("Enter")
    expect(problem).to_be_hidden()
    expect(wrong).not_to_have_attribute("aria-invalid", "true")
    expect(form.get_by_role("heading", name="What arrives")).to_be_visible()
