"""The sending drill in a real browser: a microphone that is a file, and none at all."""

from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest
from playwright.sync_api import Browser, Page, expect

from drill import voices
from drill.core.audio_files import read, write
from drill.core.errors import NoRecogniser
from drill.core.models import Clip
from drill.core.paths import record_file
from drill.records.store import Store
from drill.sending import far
from drill.sending.prompts import prompt, station
from drill.voices.operators import find_operator
from drill.web.api import sending
from phonetics.exchanges import load
from tests.browser.conftest import QUIET, let_in
from tests.browser.page_states import COUNTED, sounding
from tests.browser.test_accessibility import violations
from tests.browser.test_network import strangers, watched

pytestmark = pytest.mark.usefixtures("home")
CALL = "E87ABC"
RATE_HZ = 48_000
LONG_MS = 30_000


@pytest.fixture(autouse=True)
def one_prompt(monkeypatch: pytest.MonkeyPatch, home: Path) -> None:
    """Have the own call known, the ears cautioned, and every prompt of seed 0."""
    monkeypatch.setattr(sending, "SEEDS", 1)
    with Store(record_file()) as store:
        store.set_setting("own-call", CALL)
        store.set_seen("hearing", now=datetime.now(UTC))


def spoken() -> Clip:
    """Return the own call in the formant voice."""
    own = prompt("call", station(CALL, load("serial")), 0)
    return voices.speak(own.words, find_operator("rivet"), 0)


def said(path: Path, *, words: bool = True, gain: float = 1.0) -> Path:
    """Write what the microphone gives: a quiet room, the formant voice in it, a quiet room."""
    clip = spoken()
    voice = np.interp(
        np.arange(0, clip.seconds, 1 / RATE_HZ),
        np.arange(len(clip.samples)) / clip.rate_hz,
        clip.samples,
    )
    room = np.random.default_rng(1).normal(0, 10**-3.2, 5 * RATE_HZ + len(voice))
    if words:
        room[RATE_HZ:][: len(voice)] += voice
    write(path, Clip(samples=(gain * room).astype(np.float32), rate_hz=RATE_HZ))
    return path


@contextmanager
def hearing(browser: Browser, chromium: str, site: str, heard: Path | None) -> Iterator[Page]:
    """Yield a page whose microphone gives a file; None: whose user allows no microphone."""
    args = [*QUIET, "--use-fake-device-for-media-stream"]
    if heard is None:
        args.append("--deny-permission-prompts")
    else:
        args.append("--use-fake-ui-for-media-stream")
        args.append(f"--use-file-for-fake-audio-capture={heard}%noloop")
    own = browser.browser_type.launch(executable_path=chromium, args=args)
    with ExitStack() as stack:
        stack.callback(own.close)
        page = stack.enter_context(let_in(own, site))
        page.add_init_script(COUNTED)
        page.add_init_script(OPENED)
        loaded = watched(page.context)
        asked(page, site)
        yield page
        assert strangers(loaded, site) == []


def asked(page: Page, site: str) -> None:
    """Open the page and have it ask for the own call."""
    page.goto(f"{site}/speak")
    expect(page.locator("#text")).not_to_be_empty()
    page.get_by_label("What to say").select_option("call")
    page.get_by_role("button", name="Ask for another").press("Enter")
    expect(page.locator("#text")).to_have_text(CALL)


OPENED = """
window.open_ = {now: 0, most: 0, microphones: []};
const Real = AudioContext;
window.AudioContext = class extends Real {
  constructor(options) {
    super(options);
    open_.most = Math.max(open_.most, ++open_.now);
  }
  close() { open_.now -= 1; return super.close(); }
};
const media = navigator.mediaDevices;
const asked = media.getUserMedia.bind(media);
media.getUserMedia = async (wanted) => {
  const stream = await asked(wanted);
  const [track] = stream.getAudioTracks();
  open_.microphones.push({wanted, settings: track.getSettings(), track});
  return stream;
};
"""
"""Counts outputs and inputs that are open at once, and keeps how the microphone was asked for."""


def status(page: Page, text: str) -> None:
    expect(page.get_by_role("status")).to_contain_text(text, timeout=LONG_MS)


def test_a_take_is_recorded_reviewed_and_heard_far_away(
    browser: Browser, chromium: str, site: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(far, "REFERENCES", ("tin",))  # the quicker voice
    with hearing(browser, chromium, site, said(tmp_path / "mic.wav")) as page:
        assert page.evaluate("open_.microphones.length") == 0  # not before it is asked for
        record = page.locator("#record")
        record.press("Enter")
        status(page, "Recording.")
        expect(record).to_have_text("Stop")
        expect(page.locator("#level")).to_contain_text("dB of full scale")
        assert violations(page) == []
        # It ends by itself, after the last word.
        status(page, "All of it was said")
        expect(record).to_have_text("Record again")
        expect(record).to_be_focused()
        expect(page.locator("#verdict")).to_contain_text("All of it was said")
        table = page.get_by_role("table", name="Word by word")
        expect(table.get_by_role("row")).to_have_count(7)
        expect(table.get_by_role("row", name="echo echo right")).to_be_visible()
        expect(page.locator("#findings .fault")).to_have_count(0)
        used = page.evaluate("open_.microphones[0]")
        assert used["wanted"]["audio"] == {
            "echoCancellation": False, "noiseSuppression": False, "autoGainControl": False,
        }  # fmt: skip
        assert page.evaluate("open_.microphones[0].track.readyState") == "ended"
        ((_, _, kept),) = Store(record_file()).takes()
        assert kept["right"]
        # The room is kept before the first word and after the last, and not for long.
        first, last = kept["heard"][0]["start_s"], kept["heard"][-1]["end_s"]
        assert 0.3 <= first <= 1.3
        assert 0.3 <= kept["sound"]["seconds"] - last <= 1.3
        # The file's own level: what the browser gave was not bent.
        peak_db = 20 * np.log10(np.max(np.abs(spoken().samples)))
        assert kept["sound"]["peak_db"] == pytest.approx(peak_db, abs=1.0)
        # It is kept where the trainee wants it, by the trainee.
        with page.expect_download() as saving:
            page.get_by_role("link", name="Save this take as a file").press("Enter")
        saved = read(saving.value.path())
        assert saving.value.suggested_filename == "take.wav"
        assert saved.seconds == pytest.approx(kept["sound"]["seconds"], abs=0.05)
        # The far end, played; then the microphone again, with no output beside it.
        page.get_by_role("button", name="Send it to the far end").press("Enter")
        status(page, "It has arrived")
        page.get_by_role("button", name="Hear tin at 100 W").press("Enter")
        sounding(page, 1)
        status(page, "That was tin at 100 W")
        page.get_by_role("button", name="Hear yourself at 5 W").press("Enter")
        sounding(page, 2)
        record.press("Enter")
        status(page, "Recording.")
        assert page.evaluate("open_.most") == 1
        assert page.evaluate("open_.now") == 1
        record.press("Enter")
        expect(record).to_have_text("Record again", timeout=LONG_MS)


def test_without_leave_for_the_microphone_a_file_does(
    browser: Browser, chromium: str, site: str, tmp_path: Path
) -> None:
    with hearing(browser, chromium, site, None) as page:
        page.locator("#record").press("Enter")
        expect(page.locator("#problem")).to_contain_text("may not use the microphone")
        expect(page.locator("#problem")).to_contain_text("a recording as a file below")
        expect(page.locator("#problem")).to_be_focused()
        expect(page.locator("#record")).to_have_text("Record again")
        page.get_by_role("button", name="Review the file").press("Enter")
        expect(page.locator("#problem")).to_contain_text("Choose a recording first")
        page.locator("#file").set_input_files(said(tmp_path / "take.flac"))
        page.get_by_role("button", name="Review the file").press("Enter")
        status(page, "All of it was said")
        expect(page.locator("#problem")).to_be_hidden()


@pytest.mark.slow
def test_a_silent_microphone_and_one_that_goes_away(
    browser: Browser, chromium: str, site: str, tmp_path: Path
) -> None:
    with hearing(browser, chromium, site, said(tmp_path / "mic.wav", gain=0.0)) as page:
        record, problem = page.locator("#record"), page.locator("#problem")
        record.press("Enter")
        status(page, "Recording.")
        record.press("Enter")
        expect(problem).to_contain_text("The microphone is silent")
    with hearing(browser, chromium, site, said(tmp_path / "mic.wav")) as page:
        record, problem = page.locator("#record"), page.locator("#problem")
        record.press("Enter")
        status(page, "Recording.")
        page.wait_for_timeout(2500)
        # As where it is unplugged: the track ends without the page's doing.
        page.evaluate("open_.microphones[0].track.dispatchEvent(new Event('ended'))")
        expect(problem).to_contain_text("The microphone went away")
        page.get_by_role("button", name="Review what was recorded").press("Enter")
        expect(page.locator("#verdict")).not_to_be_empty(timeout=LONG_MS)
        expect(record).to_be_focused()


def test_what_could_not_be_reviewed_is_kept(
    page: Page, site: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def missing(*_: object) -> None:
        raise NoRecogniser("the recogniser is missing; install pocketsphinx")

    asked(page, site)
    with monkeypatch.context() as patch:
        patch.setattr(sending, "review", missing)
        page.locator("#file").set_input_files(said(tmp_path / "take.wav"))
        page.get_by_role("button", name="Review the file").press("Enter")
        expect(page.locator("#problem")).to_contain_text("install pocketsphinx")
    page.get_by_role("button", name="Review what was recorded").press("Enter")
    status(page, "All of it was said")
    expect(page.get_by_role("button", name="Review what was recorded")).to_be_hidden()


ENDED = """async (spans) => {
  const { Ends } = await import("/static/ends.js");
  const ends = new Ends(30);
  let seconds = 0;
  for (const [db, count] of spans) {
    for (let n = 0; n < count; n += 1) {
      seconds += 0.05;
      const why = ends.block(db, 0.05);
      if (why) return [why, Math.round(100 * seconds) / 100, ...ends.between(0.05)];
    }
  }
  return ["", seconds, ...ends.between(0.05)];
}"""


@pytest.mark.parametrize(
    ("spans", "over"),
    [
        # Level in dB and blocks of 50 ms of it; why it is over, when, and between which blocks.
        pytest.param([(-70, 10), (-20, 20), (-70, 60)], ["said", 3.5, 10, 30], id="a word"),
        pytest.param([(-20, 20), (-70, 60)], ["said", 3.0, 0, 20], id="said at once"),
        pytest.param([(-45, 10), (-20, 20), (-45, 60)], ["said", 3.5, 10, 30], id="a loud room"),
        pytest.param([(-30, 10), (-10, 20), (-30, 60)], ["said", 3.5, 10, 30], id="louder still"),
        pytest.param(
            [(-70, 10), (-20, 20), (-70, 30), (-20, 20), (-70, 60)],
            ["said", 6.0, 10, 80],
            id="a pause of 1.5 s",
        ),
        pytest.param([(-70, 300)], ["nothing", 10.0, 0, 200], id="nobody"),
        pytest.param([(-120, 300)], ["nothing", 10.0, 0, 200], id="no microphone"),
        pytest.param([(-70, 10), (-10, 1), (-70, 300)], ["nothing", 10.0, 0, 200], id="a click"),
        pytest.param([(-20, 900)], ["long", 30.0, 0, 600], id="no end"),
    ],
)
def test_when_a_take_is_over(page: Page, site: str, spans: object, over: list[object]) -> None:
    page.goto(f"{site}/help")
    assert page.evaluate(ENDED, spans) == over


def test_the_own_call_is_asked_for_once(page: Page, site: str) -> None:
    with Store(record_file()) as store:
        store.set_setting("own-call", "")
    page.goto(f"{site}/speak")
    call = page.get_by_label("Your call")
    call.fill("nonsense!")
    call.press("Enter")
    expect(page.locator("#own-problem")).to_contain_text("own call")
    expect(call).to_be_focused()
    call.fill("e87abc")
    call.press("Enter")
    expect(page.get_by_role("heading", name="To be said")).to_be_focused()
    status(page, "To be sent")
    expect(page.get_by_text("Your call and exchange: E87ABC, serial")).to_be_visible()
    page.reload()
    expect(page.locator("#text")).not_to_be_empty()
