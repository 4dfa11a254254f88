"""Every page in every state: its address, and the steps that lead to the state."""

from collections.abc import Callable
from dataclasses import dataclass

from playwright.sync_api import Page, expect

from drill import voices
from drill.core.audio_files import wav_bytes
from drill.core.paths import record_file
from drill.items.plan import compose_item
from drill.itemsets.storage import set_folder
from drill.itemsets.write import write_item_set
from drill.records.store import Store
from drill.sending.own_station import make_own_station
from drill.sending.prompts import compose_prompt
from drill.voices.operators import find_operator
from drill.voices.wordbank.storage import Consent, create_bank
from phonetics.exchanges import load_exchange
from tests.browser.contact_steps import begin_contacts, listen, make_contact
from tests.browser.hunt_steps import begin_hunt, type_command, type_known_call, wait_for_hunt
from tests.browser.session_steps import (
    SHORT_PLAN,
    begin_practice,
    begin_quick_check,
    confirm_caution,
    enter,
    play,
    wait_for_sounds,
)
from tests.web.sample_record import fill_record

PAGES = (
    "",
    "contact",
    "hunt",
    "practise",
    "measure",
    "compare",
    "listen",
    "speak",
    "report",
    "history",
    "club",
    "own-voice",
    "budget",
    "settings",
    "help",
    "help/copy",
)
OWN_CALL, OTHER_CALL = "E87ABC", "E87XYZ"


def do_nothing(page: Page) -> None:
    """Leave the page as it loads."""


@dataclass(frozen=True, kw_only=True)
class PageState:
    """A page in one state.

    path: address; may contain names of fill_record's sessions, or {0} for the session that `begin`
    begins. act: steps after loading. filled: whether fill_record fills the record first.
    """

    name: str
    path: str
    act: Callable[[Page], None] = do_nothing
    filled: bool = False
    begin: Callable[[], str] | None = None


def fill_record_and_confirm_caution() -> dict[str, str]:
    """Fill the record and confirm the caution; return the sessions' identities by name."""
    with Store(record_file()) as store:
        confirm_caution(store)
    return fill_record()


def open_all_details(page: Page) -> None:
    """Open every visible disclosure (details element)."""
    for _ in range(40):
        closed = page.locator("main details:not([open]) > summary:visible")
        if not closed.count():
            return
        closed.first.click()


def wait_for_report(page: Page) -> None:
    expect(page.get_by_role("heading", name="Response time")).to_be_visible()
    open_all_details(page)


def submit_wrong_value(field: str, text: str) -> Callable[[Page], None]:
    """Return steps that enter a wrong value into a field and submit the form."""

    def act(page: Page) -> None:
        open_all_details(page)
        page.locator(f"#{field}").fill(text)
        page.locator(f"#{field}").press("Enter")
        expect(page.locator("#problem")).to_be_visible()

    return act


def calculate_budget(page: Page) -> None:
    page.get_by_role("button", name="Calculate").click()
    expect(page.get_by_role("table").first).to_be_visible()


def listen_to_over(page: Page) -> None:
    open_all_details(page)
    page.locator("#voices").select_option("rivet")
    page.locator("#mix").select_option("unassigned")
    page.locator("#seed").fill("3")
    page.get_by_role("button", name="Play as chosen").click()
    expect(page.locator("#pictures svg").nth(1)).to_be_visible()
    page.get_by_role("button", name="Stop the sound").click()
    open_all_details(page)


def wait_for_caution(page: Page) -> None:
    page.get_by_role("button", name="Play as chosen").click()
    expect(page.locator("#caution")).to_be_visible()


def set_no_items(page: Page) -> None:
    page.locator("#count").fill("0")
    page.keyboard.press("Tab")
    expect(page.locator("#defaults-problem")).to_be_visible()


def save_own_call() -> str:
    """Store the user's own call and confirm the caution; there is no session."""
    with Store(record_file()) as store:
        confirm_caution(store)
        store.set_setting("own-call", OWN_CALL)
    return ""


def ask_for_own_call(page: Page) -> None:
    page.locator("#kind").select_option("call")
    page.get_by_role("button", name="New prompt").click()
    expect(page.locator("#text")).to_have_text(OWN_CALL)
    open_all_details(page)


def review_without_file(page: Page) -> None:
    ask_for_own_call(page)
    page.get_by_role("button", name="Review the file").click()
    expect(page.locator("#problem")).to_be_visible()


def review_wrong_call(page: Page) -> None:
    """Review a recording of another call and simulate the far end."""
    ask_for_own_call(page)
    other = compose_prompt("call", make_own_station(OTHER_CALL, load_exchange("serial")), 0)
    data = wav_bytes(voices.speak(other.words, find_operator("rivet"), 0))
    file = {"name": "take.wav", "mimeType": "audio/wav", "buffer": data}
    page.locator("#file").set_input_files(file)  # type: ignore[arg-type]
    page.get_by_role("button", name="Review the file").click()
    expect(page.locator("#verdict")).not_to_be_empty()
    page.get_by_role("button", name="Simulate the far end").click()
    expect(page.locator("#far-result table")).to_be_visible()
    open_all_details(page)


def store_set() -> str:
    """Store a set of two items, and a second one that was interrupted."""
    for name in ("friday", "interrupted"):
        for _ in write_item_set(SHORT_PLAN, set_folder(name), workers=1):
            pass
    manifest = set_folder("interrupted") / "manifest.jsonl"
    manifest.write_text(manifest.read_text().splitlines(keepends=True)[0])
    return ""


def compare_people(page: Page) -> None:
    page.get_by_role("button", name="Compare everybody: friday").click()
    expect(page.locator("#scores h3")).to_be_visible()


def store_voice() -> str:
    """Store a voice without a word."""
    create_bank("ada", Consent(speaker="Ada", at="2026-03-01T09:00:00+00:00"))
    return ""


def record_voice(page: Page) -> None:
    page.get_by_role("button", name="Record words of ada").click()
    expect(page.locator("#record")).to_be_focused()


EMPTY = tuple(
    PageState(
        name=f"{name.replace('/', ' ') or 'start'}, nothing recorded",
        path=f"/{name}",
        act=open_all_details,
    )
    for name in PAGES
)
"""Every page with an empty record and all disclosures open."""

FILLED = (
    PageState(name="start, with a record", path="/", filled=True),
    PageState(name="report, with a record", path="/report", act=wait_for_report, filled=True),
    PageState(name="history, with a record", path="/history", filled=True),
    PageState(name="history, one session", path="/history?session={practice}", filled=True),
    PageState(name="history, an open block", path="/history?session={open block}", filled=True),
    PageState(name="history, unknown session", path="/history?session=0", filled=True),
    PageState(name="listen, over", path="/listen", act=listen_to_over, filled=True),
    PageState(name="listen, caution", path="/listen", act=wait_for_caution),
    PageState(name="listen, error", path="/listen", act=submit_wrong_value("seed", "-1")),
    PageState(name="speak, prompt", path="/speak", act=ask_for_own_call, begin=save_own_call),
    PageState(name="speak, no file", path="/speak", act=review_without_file, begin=save_own_call),
    PageState(name="speak, review", path="/speak", act=review_wrong_call, begin=save_own_call),
    PageState(name="budget, result", path="/budget", act=calculate_budget),
    PageState(name="budget, error", path="/budget", act=submit_wrong_value("watts", "3000")),
    PageState(name="club, with sets", path="/club", act=compare_people, begin=store_set),
    PageState(name="own-voice, recording", path="/own-voice", act=record_voice, begin=store_voice),
    PageState(name="settings, error", path="/settings", act=set_no_items),
    PageState(name="help, unknown topic", path="/help/nothing"),
)
"""Pages with content."""


def wait_until_ready(page: Page) -> None:
    expect(page.locator("#answer-line")).to_be_focused()
    expect(page.locator("#answer-label")).to_have_text("Your answer: call")


def play_item(page: Page) -> None:
    wait_until_ready(page)
    play(page)


def type_answer(page: Page) -> None:
    play_item(page)
    page.keyboard.type("q9ab")


def answer_wrongly(page: Page) -> None:
    type_answer(page)
    page.keyboard.press("Enter")
    expect(page.locator("#verdict")).to_be_visible()


def answer_correctly(page: Page) -> None:
    play_item(page)
    enter(page, compose_item(SHORT_PLAN, 0).message.fields[0].text.lower())
    expect(page.locator("#verdict")).to_contain_text("Right")


def finish_practice(page: Page) -> None:
    answer_wrongly(page)
    page.keyboard.press("Enter")
    wait_for_sounds(page, 2)
    enter(page, ".")
    expect(page.locator("#verdict")).to_be_visible()
    page.keyboard.press("Enter")
    expect(page.locator("#result")).to_be_visible()
    open_all_details(page)


def finish_quick_check(page: Page) -> None:
    play_item(page)
    enter(page, ".")
    wait_for_sounds(page, 2)
    enter(page, "q9ab")
    expect(page.locator("#result")).to_be_visible()
    open_all_details(page)


def hold_time(page: Page) -> None:
    """Leave the page's requests for time unanswered, so that the contact stays as it is."""
    page.route("**/api/contacts/*/time", lambda _: None)


def listen_to_station(page: Page) -> None:
    listen(page)
    hold_time(page)
    page.keyboard.type("m")
    open_all_details(page)


def send_to_station(page: Page) -> None:
    listen(page)
    hold_time(page)
    enter(page, "x61?")
    enter(page, "m")
    expect(page.locator("#will")).to_contain_text("You hear nothing for")


def finish_contact(page: Page) -> None:
    make_contact(page, "x61ccw 59 003")


def finish_contacts(page: Page) -> None:
    make_contact(page, "x61ccw 59 003")
    enter(page, "s")
    expect(page.locator("#more")).to_be_focused()


def contact_state(name: str, act: Callable[[Page], None]) -> PageState:
    return PageState(
        name=f"contact, {name}", path="/contact?session={0}", act=act, begin=begin_contacts
    )


def practice_state(name: str, act: Callable[[Page], None]) -> PageState:
    return PageState(
        name=f"practise, {name}", path="/practise?session={0}", act=act, begin=begin_practice
    )


def quick_check_state(name: str, act: Callable[[Page], None]) -> PageState:
    return PageState(
        name=f"measure, {name}", path="/measure?session={0}", act=act, begin=begin_quick_check
    )


def hunt_state(name: str, act: Callable[[Page], None]) -> PageState:
    return PageState(name=f"hunt, {name}", path="/hunt?session={0}", act=act, begin=begin_hunt)


IN_SESSION = (
    hunt_state("ready", wait_for_hunt),
    hunt_state("letter", type_command),
    hunt_state("worked before", type_known_call),
    contact_state("ready", open_all_details),
    contact_state("listening", listen_to_station),
    contact_state("sending", send_to_station),
    contact_state("end", finish_contact),
    contact_state("stopped", finish_contacts),
    practice_state("ready", wait_until_ready),
    practice_state("playing", play_item),
    practice_state("answering", type_answer),
    practice_state("wrong answer", answer_wrongly),
    practice_state("right answer", answer_correctly),
    practice_state("result", finish_practice),
    quick_check_state("ready", wait_until_ready),
    quick_check_state("answering", type_answer),
    quick_check_state("result", finish_quick_check),
)
"""A session in progress."""


def show_state(page: Page, site: str, state: PageState) -> None:
    """Load a page and bring it into a state."""
    path = state.path
    if state.filled:
        path = path.format(**fill_record_and_confirm_caution())
    if state.begin is not None:
        path = path.format(state.begin())
    page.goto(site + path)
    page.wait_for_load_state("networkidle")
    state.act(page)
