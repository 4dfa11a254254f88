"""Steps of a session in the browser, by keyboard, and its data in the record."""

from datetime import UTC, datetime

from playwright.sync_api import Page, expect

from drill.core.models import Attempt
from drill.core.paths import record_file
from drill.items.plan import Plan
from drill.records.store import Store
from drill.session.kinds.base import SessionKind
from drill.session.kinds.practice import Practice
from drill.session.kinds.quick_check import QuickCheck
from drill.session.settings import change_settings
from tests.drill.simulated_trainee import SimulatedTrainee
from tests.web.client import current_item

SOUND_COUNTER = """
window.soundCount = 0;
window.endedSoundCount = 0;
document.addEventListener("sound", (event) => {
  window.soundPlays = event.detail > 0;
  if (event.detail) window.soundCount += 1;
  else window.endedSoundCount += 1;
});
"""
"""Script that counts the sounds that the page starts and those that have ended."""
TIMEOUT_MS, POLL_MS = 60_000, 50
SHORT_PLAN = Plan(seed=11, count=2, mix="unassigned", voices=("rivet",))
WRONG = "q9abc"
"""An answer that is wrong for every item of SHORT_PLAN."""


def confirm_caution(store: Store) -> None:
    """Record that the user has confirmed the caution about hearing, and uses no screen reader.

    Without a screen reader, no sound waits for the end of an announcement.
    """
    store.set_seen("hearing", now=datetime.now(UTC))
    change_settings(store, {"speech_gap_s": 0})


def begin_in_record(kind: SessionKind) -> str:
    """Begin a session in the record and confirm the caution; return the session's identity."""
    with Store(record_file()) as store:
        confirm_caution(store)
        return store.begin_session(
            kind.plan,
            now=datetime.now(UTC),
            version="test",
            mode=kind.stored_name,
            course=kind.to_dict(),
        )


def begin_practice() -> str:
    """Begin a practice session of two items; return its identity."""
    return begin_in_record(Practice(plan=SHORT_PLAN))


def begin_quick_check() -> str:
    """Begin a quick check of two items; return its identity."""
    return begin_in_record(QuickCheck(plan=SHORT_PLAN))


def begun_sessions() -> list[str]:
    """Return the identities of all sessions, also those without answers, newest first."""
    with Store(record_file()) as store, store.transaction(writes=False) as database:
        return [row[0] for row in database.execute("SELECT id FROM sitting ORDER BY started DESC")]


def stored_attempts(session: str) -> list[Attempt]:
    """Return the attempts of a session from the record."""
    with Store(record_file()) as store:
        return list(store.attempts(session))


def open_session(page: Page, site: str, path: str, *scripts: str) -> None:
    """Open a session's page, with scripts added, and wait until it is ready for Enter."""
    for script in (SOUND_COUNTER, *scripts):
        page.add_init_script(script)
    page.goto(f"{site}/{path}")
    expect(page.locator("#answer-line")).to_be_focused(timeout=TIMEOUT_MS)


def enter(page: Page, text: str = "") -> None:
    """Type a line and press Enter."""
    page.keyboard.type(text)
    page.keyboard.press("Enter")


def focused_id(page: Page) -> str:
    """Return the id of the element that has the focus."""
    return str(page.evaluate("document.activeElement.id"))


def wait_for_sounds(page: Page, count: int) -> None:
    """Wait until the page has started `count` sounds; until then it accepts no answer."""
    wait_until(page, f"window.soundCount >= {count}")


def wait_until(page: Page, condition: str) -> None:
    """Wait until a JavaScript expression is true.

    Polls from here: the page's content security policy forbids playwright's wait_for_function.
    """
    for _ in range(TIMEOUT_MS // POLL_MS):
        if page.evaluate(condition):
            return
        page.wait_for_timeout(POLL_MS)
    raise AssertionError(f"still false: {condition}")


def play(page: Page, count: int = 1) -> None:
    """Press Enter and wait until the page has started `count` sounds in total."""
    enter(page)
    wait_for_sounds(page, count)


def answer_blindly(page: Page, session: str, trainee: SimulatedTrainee, count: int) -> None:
    """Answer all items of a session without feedback; check that the page reveals nothing."""
    page.keyboard.press("Enter")
    for number in range(count):
        wait_for_sounds(page, number + 1)
        assert focused_id(page) == "answer-line"
        item = current_item(session)
        visible_text = page.get_by_role("main").inner_text()
        assert " ".join(item.message.fields[0].text) not in visible_text
        assert "right" not in visible_text.lower()
        enter(page, trainee.type_answer(item).lower())
    expect(page.locator("#result-go")).to_be_focused(timeout=TIMEOUT_MS)
