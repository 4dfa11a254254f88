"""Every page in every state that it can be in: where to go, and what to do there."""

import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime

from playwright.sync_api import Page, expect

from drill import voices
from drill.core.audio_files import wav_bytes
from drill.core.paths import record_file
from drill.items.plan import Plan, compose
from drill.records.store import Store
from drill.sending.prompts import prompt, station
from drill.session.blocks import checking
from drill.session.courses import Practising
from drill.voices.operators import find_operator
from phonetics.exchanges import load
from tests.web.sample_record import fill

PAGES = (
    "",
    "practise",
    "measure",
    "compare",
    "listen",
    "speak",
    "report",
    "history",
    "budget",
    "settings",
    "help",
)
LONG_MS = 30_000
COUNTED = """
window.sounds = 0;
document.addEventListener("sound", (event) => { if (event.detail) window.sounds += 1; });
"""
"""Counts the sounds that the page starts."""
SHORT = Plan(seed=11, count=2, mix="unassigned", voices=("rivet",))


def nothing(page: Page) -> None:
    """Leave the page as it is."""


@dataclass(frozen=True, kw_only=True)
class State:
    """A page in a state.

    go: the address; filled: with a record, whose identities go may name; begin: gives the identity
    that go names; act: what brings the page there.
    """

    name: str
    go: str
    act: Callable[[Page], None] = nothing
    filled: bool = False
    begin: Callable[[], str] | None = None


def begin(kind: str = "practice") -> str:
    """Begin a short sitting in the record and confirm the caution; return its identity."""
    course = checking(SHORT) if kind == "quick" else Practising(plan=SHORT)
    with Store(record_file()) as store:
        store.set_seen("hearing", now=datetime.now(UTC))
        return store.begin(
            course.plan,
            now=datetime.now(UTC),
            version="test",
            mode=course.mode,
            course=course.to_dict(),
        )


def filled() -> dict[str, str]:
    """Fill the record and confirm the caution."""
    with Store(record_file()) as store:
        store.set_seen("hearing", now=datetime.now(UTC))
    return fill()


def opened(page: Page) -> None:
    """Open all that can be opened."""
    for _ in range(40):
        closed = page.locator("main details:not([open]) > summary:visible")
        if not closed.count():
            return
        closed.first.click()


def reported(page: Page) -> None:
    expect(page.get_by_role("heading", name="Response time")).to_be_visible(timeout=LONG_MS)
    opened(page)


def wrong_in(field: str, text: str) -> Callable[[Page], None]:
    """Return what types nonsense into a field and sends it."""

    def act(page: Page) -> None:
        opened(page)
        page.locator(f"#{field}").fill(text)
        page.locator(f"#{field}").press("Enter")
        expect(page.locator("#problem")).to_be_visible()

    return act


def reckoned(page: Page) -> None:
    page.get_by_role("button", name="Reckon").click()
    expect(page.get_by_role("table").first).to_be_visible()


def rightly_heard(page: Page) -> None:
    opened(page)
    page.locator("#voice").select_option("rivet")
    page.locator("#mix").select_option("unassigned")
    page.locator("#seed").fill("3")
    page.get_by_role("button", name="Hear it as asked").click()
    expect(page.locator("#pictures svg").nth(1)).to_be_visible(timeout=LONG_MS)
    page.get_by_role("button", name="Stop the sound").click()
    opened(page)


def cautioned(page: Page) -> None:
    page.get_by_role("button", name="Hear it as asked").click()
    expect(page.locator("#caution")).to_be_visible()


def bad_items(page: Page) -> None:
    page.locator("#count").fill("0")
    page.keyboard.press("Tab")
    expect(page.locator("#new-problem")).to_be_visible()


def called() -> str:
    """Keep an own call and confirm the caution; there is no identity to name."""
    with Store(record_file()) as store:
        store.set_seen("hearing", now=datetime.now(UTC))
        store.set_setting("own-call", "E87ABC")
    return ""


def own_call_asked(page: Page) -> None:
    page.locator("#kind").select_option("call")
    page.get_by_role("button", name="Ask for another").click()
    expect(page.locator("#text")).to_have_text("E87ABC")
    opened(page)


def without_file(page: Page) -> None:
    own_call_asked(page)
    page.get_by_role("button", name="Review the file").click()
    expect(page.locator("#problem")).to_be_visible()


def said_wrongly(page: Page) -> None:
    """Give a recording of another call, and send it to the far end."""
    own_call_asked(page)
    other = prompt("call", station("E87XYZ", load("serial")), 0)
    data = wav_bytes(voices.speak(other.words, find_operator("rivet"), 0))
    file = {"name": "take.wav", "mimeType": "audio/wav", "buffer": data}
    page.locator("#file").set_input_files(file)  # type: ignore[arg-type]
    page.get_by_role("button", name="Review the file").click()
    expect(page.locator("#verdict")).to_have_text(re.compile("Not as wanted"), timeout=LONG_MS)
    page.get_by_role("button", name="Send it to the far end").click()
    expect(page.locator("#far-told table")).to_be_visible(timeout=LONG_MS)
    opened(page)


EMPTY = tuple(
    State(name=f"{name or 'start'}, nothing recorded", go=f"/{name}", act=opened) for name in PAGES
)
"""Every page with an empty record, everything open that can be opened."""

FILLED = (
    State(name="start, with a record", go="/", filled=True),
    State(name="report, with a record", go="/report", act=reported, filled=True),
    State(name="history, with a record", go="/history", filled=True),
    State(name="history, one sitting", go="/history?of={practice}", filled=True),
    State(name="history, an open block", go="/history?of={open block}", filled=True),
    State(name="history, no such sitting", go="/history?of=0", filled=True),
    State(name="listen, heard", go="/listen", act=rightly_heard, filled=True),
    State(name="listen, caution", go="/listen", act=cautioned),
    State(name="listen, error", go="/listen", act=wrong_in("seed", "-1")),
    State(name="speak, asked", go="/speak", act=own_call_asked, begin=called),
    State(name="speak, no file", go="/speak", act=without_file, begin=called),
    State(name="speak, reviewed", go="/speak", act=said_wrongly, begin=called),
    State(name="budget, result", go="/budget", act=reckoned),
    State(name="budget, error", go="/budget", act=wrong_in("watts", "3000")),
    State(name="settings, error", go="/settings", act=bad_items),
)
"""Pages with something on them."""


def ready(page: Page) -> None:
    expect(page.locator("#copy")).to_be_focused()
    expect(page.locator("#asked")).to_have_text("Your copy: call", timeout=LONG_MS)


def sounding(page: Page, count: int) -> None:
    """Wait until so many sounds have begun: before that, the line takes no answer."""
    for _ in range(LONG_MS // 50):
        if page.evaluate("window.sounds") >= count:
            return
        page.wait_for_timeout(50)
    raise AssertionError(f"sound {count} does not come")


def hears(page: Page) -> None:
    """Have the present item play."""
    ready(page)
    page.keyboard.press("Enter")
    sounding(page, 1)


def answering(page: Page) -> None:
    hears(page)
    page.keyboard.type("q9ab")


def told_wrong(page: Page) -> None:
    answering(page)
    page.keyboard.press("Enter")
    expect(page.locator("#verdict")).to_be_visible()


def told_right(page: Page) -> None:
    hears(page)
    page.keyboard.type(compose(SHORT, 0).message.fields[0].text.lower())
    page.keyboard.press("Enter")
    expect(page.locator("#verdict")).to_contain_text("Right")


def gives_up(page: Page) -> None:
    page.keyboard.type(".")
    page.keyboard.press("Enter")


def practised(page: Page) -> None:
    told_wrong(page)
    page.keyboard.press("Enter")
    sounding(page, 2)
    gives_up(page)
    expect(page.locator("#verdict")).to_be_visible()
    page.keyboard.press("Enter")
    expect(page.locator("#result")).to_be_visible(timeout=LONG_MS)
    opened(page)


def measured(page: Page) -> None:
    hears(page)
    gives_up(page)
    sounding(page, 2)
    page.keyboard.type("q9ab")
    page.keyboard.press("Enter")
    expect(page.locator("#result")).to_be_visible(timeout=LONG_MS)
    opened(page)


def checked() -> str:
    return begin("quick")


def practising(name: str, act: Callable[[Page], None]) -> State:
    return State(name=f"practise, {name}", go="/practise?go={0}", act=act, begin=begin)


def measuring(name: str, act: Callable[[Page], None]) -> State:
    return State(name=f"measure, {name}", go="/measure?go={0}", act=act, begin=checked)


MID_DRILL = (
    practising("before", ready),
    practising("playing", hears),
    practising("answering", answering),
    practising("told wrong", told_wrong),
    practising("told right", told_right),
    practising("result", practised),
    measuring("before", ready),
    measuring("answering", answering),
    measuring("result", measured),
)
"""A drill on its way."""
