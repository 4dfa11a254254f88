"""The sending drill: a microphone that plays a file, and no microphone at all."""

from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path

import numpy as np
import pytest
from playwright.sync_api import Browser, Page, Route, expect

from drill import voices
from drill.core.audio_files import read_audio, write_audio
from drill.core.errors import NoRecogniser
from drill.core.models import Clip
from drill.core.paths import record_file
from drill.records.store import Store
from drill.sending import far_end
from drill.sending.own_station import make_own_station
from drill.sending.prompts import compose_prompt
from drill.voices.operators import find_operator
from drill.web.api import sending
from phonetics.exchanges import load_exchange
from tests.browser.accessibility import violations
from tests.browser.conftest import CHROMIUM_ARGUMENTS, logged_in_page
from tests.browser.network import foreign_urls, record_requests
from tests.browser.session_steps import SOUND_COUNTER, confirm_caution, wait_for_sounds

pytestmark = pytest.mark.usefixtures("home")
CALL = "E87ABC"
RATE_HZ = 48_000
RIGHT_VERDICT = "Everything was said correctly"
AUDIO_COUNTER = """
window.audio = {openOutputs: 0, mostOutputs: 0, microphones: []};
const RealContext = AudioContext;
window.AudioContext = class extends RealContext {
  constructor(options) {
    super(options);
    audio.openOutputs += 1;
    audio.mostOutputs = Math.max(audio.mostOutputs, audio.openOutputs);
  }
  close() { audio.openOutputs -= 1; return super.close(); }
};
const getUserMedia = navigator.mediaDevices.getUserMedia.bind(navigator.mediaDevices);
navigator.mediaDevices.getUserMedia = async (constraints) => {
  const stream = await getUserMedia(constraints);
  const [track] = stream.getAudioTracks();
  audio.microphones.push({constraints, track});
  return stream;
};
"""
"""Script that counts audio contexts and stores how each microphone was requested."""


@pytest.fixture(autouse=True)
def fixed_prompt(monkeypatch: pytest.MonkeyPatch, home: Path) -> None:
    """Store the own call, confirm the caution, and make every prompt one of seed 0."""
    monkeypatch.setattr(sending, "SEED_COUNT", 1)
    with Store(record_file()) as store:
        store.set_setting("own-call", CALL)
        confirm_caution(store)


def spoken_call() -> Clip:
    """Return the own call in the formant voice."""
    own = compose_prompt("call", make_own_station(CALL, load_exchange("serial")), 0)
    return voices.speak(own.words, find_operator("wren"), 0)


def write_recording(path: Path, *, gain: float = 1.0) -> Path:
    """Write the call after 1 s of background noise and with 4 s of it afterwards."""
    clip = spoken_call()
    speech = np.interp(
        np.arange(0, clip.seconds, 1 / RATE_HZ),
        np.arange(len(clip.samples)) / clip.rate_hz,
        clip.samples,
    )
    samples = np.random.default_rng(1).normal(0, 10**-3.2, 5 * RATE_HZ + len(speech))
    samples[RATE_HZ:][: len(speech)] += speech
    write_audio(path, Clip(samples=(gain * samples).astype(np.float32), rate_hz=RATE_HZ))
    return path


@contextmanager
def page_with_microphone(
    browser: Browser, chromium: str, site: str, recording: Path | None
) -> Iterator[Page]:
    """Yield a page whose microphone plays a file; None: the user allows no microphone."""
    arguments = [*CHROMIUM_ARGUMENTS, "--use-fake-device-for-media-stream"]
    if recording is None:
        arguments.append("--deny-permission-prompts")
    else:
        arguments.append("--use-fake-ui-for-media-stream")
        arguments.append(f"--use-file-for-fake-audio-capture={recording}%noloop")
    own_browser = browser.browser_type.launch(executable_path=chromium, args=arguments)
    with ExitStack() as stack:
        stack.callback(own_browser.close)
        page = stack.enter_context(logged_in_page(own_browser, site))
        page.add_init_script(SOUND_COUNTER)
        page.add_init_script(AUDIO_COUNTER)
        urls = record_requests(page.context)
        ask_for_own_call(page, site)
        yield page
        assert foreign_urls(urls, site) == []


def ask_for_own_call(page: Page, site: str) -> None:
    """Open the page and ask for the prompt 'call'."""
    page.goto(f"{site}/speak")
    expect(page.locator("#text")).not_to_be_empty()
    page.get_by_label("What to send").select_option("call")
    page.get_by_role("button", name="New prompt").press("Enter")
    expect(page.locator("#text")).to_have_text(CALL)


def expect_announcement(page: Page, text: str) -> None:
    expect(page.get_by_role("status")).to_contain_text(text)


@pytest.mark.slow
def test_take_is_recorded_reviewed_and_heard_at_the_far_end(
    browser: Browser, chromium: str, site: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(far_end, "REFERENCE_OPERATORS", ("tin",))  # the faster engine
    recording = write_recording(tmp_path / "microphone.wav")
    with page_with_microphone(browser, chromium, site, recording) as page:
        assert (
            page.evaluate("audio.microphones.length") == 0
        )  # the page opens no microphone before it needs one
        record = page.locator("#record")
        record.press("Enter")
        expect_announcement(page, "Recording.")
        expect(record).to_have_text("Stop")
        expect(page.locator("#level")).to_contain_text("dB re full scale")
        assert violations(page) == []
        # The recording ends by itself after the last word.
        expect_announcement(page, RIGHT_VERDICT)
        expect(record).to_have_text("Record again")
        expect(record).to_be_focused()
        check_review(page)
        check_download(page, tmp_path)
        check_far_end(page)
        # The microphone opens again only after the output was closed.
        record.press("Enter")
        expect_announcement(page, "Recording.")
        assert page.evaluate("audio.mostOutputs") == 1
        assert page.evaluate("audio.openOutputs") == 1
        record.press("Enter")
        expect(record).to_have_text("Record again")


def check_review(page: Page) -> None:
    """Check the review on the page and in the record, and how the microphone was used."""
    expect(page.locator("#verdict")).to_contain_text(RIGHT_VERDICT)
    table = page.get_by_role("table", name="Word by word")
    expect(table.get_by_role("row")).to_have_count(7)
    expect(table.get_by_role("row", name="echo echo right")).to_be_visible()
    expect(page.locator("#findings .fault")).to_have_count(0)
    assert page.evaluate("audio.microphones[0].constraints.audio") == {
        "echoCancellation": False,
        "noiseSuppression": False,
        "autoGainControl": False,
    }
    assert page.evaluate("audio.microphones[0].track.readyState") == "ended"
    with Store(record_file()) as store:
        ((_, _, review),) = store.takes()
    assert review["right"]
    # Some background noise is kept before the first word and after the last.
    first, last = review["heard"][0]["start_s"], review["heard"][-1]["end_s"]
    assert 0.3 <= first <= 1.3
    assert 0.3 <= review["sound"]["seconds"] - last <= 1.3
    # The level equals that of the file, so the browser did not process the signal.
    peak_db = 20 * np.log10(np.max(np.abs(spoken_call().samples)))
    assert review["sound"]["peak_db"] == pytest.approx(peak_db, abs=1.0)


def check_download(page: Page, folder: Path) -> None:
    """Save the take as a file; it is as long as the reviewed one."""
    with page.expect_download() as download:
        page.get_by_role("link", name="Save this take as a file").press("Enter")
    assert download.value.suggested_filename == "take.wav"
    download.value.save_as(folder / "saved.wav")
    with Store(record_file()) as store:
        ((_, _, review),) = store.takes()
    saved = read_audio(folder / "saved.wav")
    assert saved.seconds == pytest.approx(review["sound"]["seconds"], abs=0.05)


def check_far_end(page: Page) -> None:
    page.get_by_role("button", name="Simulate the far end").press("Enter")
    expect_announcement(page, "The far end is ready")
    page.get_by_role("button", name="Play tin at 100 W").press("Enter")
    wait_for_sounds(page, 1)
    expect_announcement(page, "That was tin at 100 W")
    page.get_by_role("button", name="Play your voice at 5 W").press("Enter")
    wait_for_sounds(page, 2)


@pytest.mark.slow
def test_recording_begins_once_the_prompt_that_was_asked_for_is_shown(
    browser: Browser, chromium: str, site: str
) -> None:
    with page_with_microphone(browser, chromium, site, None) as page:
        held: list[Route] = []

        def hold(route: Route) -> None:
            held.append(route)

        page.route("**/api/speak/prompts", hold)
        page.locator("#new-prompt").press("Enter")
        wait_until_held(page, held)
        page.locator("#record").press("Enter")
        held[0].continue_()
        expect(page.locator("#problem")).to_contain_text("may not use the microphone")


def wait_until_held(page: Page, held: list[Route]) -> None:
    """Wait until the page has sent a request, which the test holds back."""
    for _ in range(600):
        if held:
            return
        page.wait_for_timeout(100)
    raise AssertionError("the page has sent no request within a minute")


@pytest.mark.slow
def test_file_can_be_reviewed_if_the_browser_blocks_the_microphone(
    browser: Browser, chromium: str, site: str, tmp_path: Path
) -> None:
    with page_with_microphone(browser, chromium, site, None) as page:
        problem = page.locator("#problem")
        page.locator("#record").press("Enter")
        expect(problem).to_contain_text("may not use the microphone")
        expect(problem).to_contain_text("open a recording as a file below")
        expect(problem).to_be_focused()
        expect(page.locator("#record")).to_have_text("Record again")
        page.get_by_role("button", name="Review the file").press("Enter")
        expect(problem).to_contain_text("Choose a recording first")
        page.locator("#file").set_input_files(write_recording(tmp_path / "take.flac"))
        page.get_by_role("button", name="Review the file").press("Enter")
        expect_announcement(page, RIGHT_VERDICT)
        expect(problem).to_be_hidden()


@pytest.mark.slow
def test_silent_microphone_is_reported(
    browser: Browser, chromium: str, site: str, tmp_path: Path
) -> None:
    recording = write_recording(tmp_path / "microphone.wav", gain=0.0)
    with page_with_microphone(browser, chromium, site, recording) as page:
        record = page.locator("#record")
        record.press("Enter")
        expect_announcement(page, "Recording.")
        record.press("Enter")
        expect(page.locator("#problem")).to_contain_text("The microphone is silent")


@pytest.mark.slow
def test_recording_is_kept_if_the_microphone_is_disconnected(
    browser: Browser, chromium: str, site: str, tmp_path: Path
) -> None:
    recording = write_recording(tmp_path / "microphone.wav")
    with page_with_microphone(browser, chromium, site, recording) as page:
        record = page.locator("#record")
        record.press("Enter")
        expect_announcement(page, "Recording.")
        page.wait_for_timeout(2500)
        # A browser dispatches this event when the device is unplugged.
        page.evaluate("audio.microphones[0].track.dispatchEvent(new Event('ended'))")
        expect(page.locator("#problem")).to_contain_text("The microphone was disconnected")
        page.get_by_role("button", name="Review the recording").press("Enter")
        expect(page.locator("#verdict")).not_to_be_empty()
        expect(record).to_be_focused()


def test_recording_that_could_not_be_reviewed_is_kept(
    page: Page, site: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*_: object) -> None:
        raise NoRecogniser("the recogniser is missing; install pocketsphinx")

    ask_for_own_call(page, site)
    with monkeypatch.context() as patch:
        patch.setattr(sending, "review_take", fail)
        page.locator("#file").set_input_files(write_recording(tmp_path / "take.wav"))
        page.get_by_role("button", name="Review the file").press("Enter")
        expect(page.locator("#problem")).to_contain_text("install pocketsphinx")
    page.get_by_role("button", name="Review the recording").press("Enter")
    expect_announcement(page, RIGHT_VERDICT)
    expect(page.get_by_role("button", name="Review the recording")).to_be_hidden()


END_OF_TAKE = """async (levels) => {
  const { TakeEndDetector } = await import("/static/take_end.js");
  const detector = new TakeEndDetector(30);
  let seconds = 0;
  for (const [db, blocks] of levels) {
    for (let n = 0; n < blocks; n += 1) {
      seconds += 0.05;
      const reason = detector.addBlock(db, 0.05);
      if (reason) return [reason, Math.round(100 * seconds) / 100, ...detector.voiceSpan(0.05)];
    }
  }
  return ["", seconds, ...detector.voiceSpan(0.05)];
}"""
TAKES = {
    # Name: levels (dB and number of 50 ms blocks), then reason, seconds, first and last block of
    # speech.
    "a word": ([(-70, 10), (-20, 20), (-70, 60)], ["silence", 3.5, 10, 30]),
    "speech from the start": ([(-20, 20), (-70, 60)], ["silence", 3.0, 0, 20]),
    "a noisy room": ([(-45, 10), (-20, 20), (-45, 60)], ["silence", 3.5, 10, 30]),
    "a noisier room": ([(-30, 10), (-10, 20), (-30, 60)], ["silence", 3.5, 10, 30]),
    "a pause of 1.5 s": (
        [(-70, 10), (-20, 20), (-70, 30), (-20, 20), (-70, 60)],
        ["silence", 6.0, 10, 80],
    ),
    "no speech": ([(-70, 300)], ["no-speech", 10.0, 0, 200]),
    "digital silence": ([(-120, 300)], ["no-speech", 10.0, 0, 200]),
    "a click": ([(-70, 10), (-10, 1), (-70, 300)], ["no-speech", 10.0, 0, 200]),
    "speech without end": ([(-20, 900)], ["too-long", 30.0, 0, 600]),
}


def test_end_of_a_take_follows_from_its_levels(page: Page, site: str) -> None:
    page.goto(f"{site}/help")
    ends = {name: page.evaluate(END_OF_TAKE, levels) for name, (levels, _) in TAKES.items()}
    assert ends == {name: end for name, (_, end) in TAKES.items()}


def test_own_call_is_asked_for_once(page: Page, site: str) -> None:
    with Store(record_file()) as store:
        store.set_setting("own-call", "")
    page.goto(f"{site}/speak")
    call = page.get_by_label("Your call")
    call.fill("nonsense!")
    call.press("Enter")
    expect(page.locator("#station-problem")).to_contain_text("call")
    expect(call).to_be_focused()
    expect(call).to_have_attribute("aria-invalid", "true")
    call.fill("e87abc")
    call.press("Enter")
    expect(page.get_by_role("heading", name="Say this")).to_be_focused()
    expect_announcement(page, "To be sent")
    expect(page.get_by_text("Your call and exchange: E87ABC, serial")).to_be_visible()
    page.reload()
    expect(page.locator("#text")).not_to_be_empty()
