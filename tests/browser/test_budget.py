"""The link budget page, by keyboard."""

import pytest
from playwright.sync_api import Page, expect

from tests.browser.session_steps import focused_id

pytestmark = pytest.mark.usefixtures("home")


@pytest.fixture
def form(page: Page, site: str) -> Page:
    page.goto(f"{site}/budget")
    page.get_by_label("Frequency, MHz").focus()
    return page


def tab_to(page: Page, field: str, most: int = 40) -> None:
    """Press Tab until the field with this id has the focus."""
    for _ in range(most):
        if focused_id(page) == field:
            return
        page.keyboard.press("Tab")
    raise AssertionError(f"{field} cannot be reached by keyboard")


def replace(page: Page, text: str) -> None:
    """Type over the content of the focused field."""
    page.keyboard.press("Control+A")
    page.keyboard.type(text)


def test_snr_of_both_directions_is_calculated_by_keyboard(form: Page) -> None:
    """If 100 W give 12 dB, 5 W give 13.0 dB less: 10 log10(5 / 100)."""
    tab_to(form, "path_snr")
    replace(form, "12")
    form.keyboard.press("Enter")
    expect(form.get_by_role("heading", name="Result")).to_be_visible()
    snr = form.get_by_role("row").filter(has_text="my signal there").get_by_role("cell").nth(1)
    expect(snr).to_have_text("-1.0")
    expect(form.get_by_role("status")).to_contain_text("-1.0 dB")
    # The focus stays in the field, so that it can be changed and sent again.
    assert focused_id(form) == "path_snr"
    replace(form, "22")
    form.keyboard.press("Enter")
    expect(snr).to_have_text("+9.0")


def test_s_reading_and_short_wire_replace_snr_and_loss(form: Page) -> None:
    tab_to(form, "by-snr")
    form.keyboard.press("ArrowDown")
    tab_to(form, "path_s")
    replace(form, "9+10")
    form.get_by_text("Losses of a short antenna").focus()
    form.keyboard.press("Enter")
    tab_to(form, "wire-db")
    form.keyboard.press("ArrowDown")
    expect(form.get_by_label("Antenna loss, dB")).to_be_hidden()
    tab_to(form, "wire_length")
    replace(form, "1.5")
    form.keyboard.press("Enter")
    expect(form.locator("#result-content")).to_contain_text("shortening")
    assert "shortening 0.0 dB" not in (form.locator("#result-content").text_content() or "")


@pytest.mark.parametrize(
    ("field", "text", "message"),
    [
        ("watts", "3000", "My power, W PEP: enter a number from 0.001 to 2000."),
        ("frequency", "", "Frequency, MHz: enter a number from 0.3 to 30."),
        ("path_s", "S-ten", "S reading"),
    ],
)
def test_error_is_tied_to_its_field(form: Page, field: str, text: str, message: str) -> None:
    """The browser checks ranges itself; an error of the server names its field."""
    if field == "path_s":
        form.get_by_label("Given as an S reading").check()
    form.locator(f"#{field}").focus()
    replace(form, text)
    form.keyboard.press("Delete")
    form.keyboard.press("Enter")
    problem = form.locator("#problem")
    expect(problem).to_contain_text(message)
    expect(form.locator(f"#{field}")).to_be_focused()
    invalid = form.locator(f"#{field}")
    expect(invalid).to_have_attribute("aria-invalid", "true")
    assert "problem" in (invalid.get_attribute("aria-describedby") or "").split()
    replace(form, "9")
    form.keyboard.press("Enter")
    expect(problem).to_be_hidden()
    expect(invalid).not_to_have_attribute("aria-invalid", "true")
    expect(form.get_by_role("heading", name="Result")).to_be_visible()
