"""The screen of a drill: everything is visible in a small window, and nothing typed is lost."""

import pytest
from playwright.sync_api import Page, expect

from tests.browser.session_steps import (
    begin_practice,
    begin_quick_check,
    enter,
    open_session,
    play,
    stored_attempts,
    wait_until,
)

pytestmark = pytest.mark.usefixtures("home")
IN_SIGHT = """() => ["#item-title", "#answer-line", "#submit", ".acts:not([hidden]) .act", "#ear"]
  .filter((selector) => {
    const {top, bottom} = document.querySelector(selector).getBoundingClientRect();
    return top < 0 || bottom > innerHeight;
  })"""
"""Script that returns the parts of the screen that are out of sight."""
SCROLLS = "document.documentElement.scrollHeight > innerHeight"


@pytest.mark.parametrize("height", [380, 740])
def test_line_and_keys_stay_in_sight_in_a_small_window(page: Page, site: str, height: int) -> None:
    page.set_viewport_size({"width": 360, "height": height})
    open_session(page, site, f"practise?session={begin_practice()}")
    expect(page.locator("#answer-label")).to_have_text("Your answer: call")
    assert page.evaluate(IN_SIGHT) == []
    play(page)
    page.keyboard.type("q9ab")
    assert page.evaluate(IN_SIGHT) == []
    if height == 380:
        assert not page.evaluate(SCROLLS)
    enter(page)
    expect(page.locator("#heard .strip")).to_be_visible()
    assert page.evaluate(IN_SIGHT) == []
    if height == 380:
        assert not page.evaluate(SCROLLS)


def test_a_sign_shows_that_sound_plays(page: Page, site: str) -> None:
    open_session(page, site, f"practise?session={begin_practice()}")
    expect(page.locator("#ear")).to_have_text("Silent")
    play(page)
    expect(page.locator("#ear")).to_have_text("Sounding")
    wait_until(page, "endedSoundCount > 0")
    expect(page.locator("#ear")).to_have_text("Silent")


@pytest.mark.parametrize("kind", ["practise", "measure"])
def test_typed_text_survives_a_reload(page: Page, site: str, kind: str) -> None:
    session = begin_practice() if kind == "practise" else begin_quick_check()
    open_session(page, site, f"{kind}?session={session}")
    play(page)
    page.keyboard.type("q9a")
    page.reload()
    expect(page.locator("#answer-line")).to_have_value("q9a")
    expect(page.locator("#submit-text")).to_have_text("Send")
    page.locator("#answer-line").press("End")
    enter(page, "b")
    wait_until(page, "document.getElementById('answer-line').value === ''")
    (attempt, *_) = stored_attempts(session)
    assert (attempt.answer.typed, attempt.answer.replays) == ("q9ab", 0)


@pytest.mark.slow
@pytest.mark.parametrize(("width", "height"), [(1280, 800), (320, 640)])
def test_the_line_covers_no_part_of_the_words(
    page: Page, site: str, width: int, height: int
) -> None:
    page.set_viewport_size({"width": width, "height": height})
    open_session(page, site, f"practise?session={begin_practice()}")
    play(page)
    enter(page, "q9")
    expect(page.locator("#heard .strip")).to_be_visible()
    expect(page.locator("#answer-line")).to_have_attribute("placeholder", "Enter, or a letter")
    expect(page.locator(".strip-key")).to_contain_text("nothing typed")
    last = ".strip-key" if width > 1000 else ".strip"
    words, form = (page.locator(part).bounding_box() for part in (last, "#answer-form"))
    assert words is not None and form is not None
    assert words["y"] + words["height"] <= form["y"]


@pytest.mark.slow
def test_the_caps_keep_their_words_in_a_tiny_window(page: Page, site: str) -> None:
    page.set_viewport_size({"width": 360, "height": 380})
    open_session(page, site, f"practise?session={begin_practice()}")
    play(page)
    acts = page.locator("#buttons-before-answer")
    for word in ("Hear again", "Where", "Give up", "Stop"):
        expect(acts.get_by_text(word, exact=False).first).to_be_in_viewport()
    enter(page, "q9")
    expect(page.locator("#heard .strip")).to_be_visible()
    for word in ("noise", "clean", "Details", "Stop"):
        expect(page.locator("#buttons-after-answer").get_by_text(word).first).to_be_in_viewport()


@pytest.mark.slow
def test_an_answer_in_code_words_is_questioned_once(page: Page, site: str) -> None:
    session = begin_practice()
    open_session(page, site, f"practise?session={session}")
    play(page)
    enter(page, "echo eight x ray")
    expect(page.locator("#status")).to_contain_text("Type characters, not words: E8X?")
    assert stored_attempts(session) == []
    enter(page)
    expect(page.locator("#verdict")).to_be_visible()
    (attempt,) = stored_attempts(session)
    assert attempt.answer.typed == "echo eight x ray"
