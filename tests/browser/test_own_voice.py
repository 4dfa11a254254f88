"""Recording one's own voice: consent, room, words, deletion. The microphone plays a file."""

from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path

import numpy as np
import pytest
from playwright.sync_api import Browser, Page, expect

from drill.core.audio_files import write_audio
from drill.core.models import Clip
from drill.core.paths import record_file
from drill.recogniser.own.adaptation import Adaptation
from drill.recogniser.own.enrolment import Enrolment
from drill.recogniser.own.model import load_model
from drill.records.store import Store
from drill.sending.enrolled_voices import enrolled_names
from drill.voices.wordbank.storage import Consent, create_bank, load_bank
from tests.browser.accessibility import violations
from tests.browser.conftest import CHROMIUM_ARGUMENTS, logged_in_page
from tests.browser.session_steps import SOUND_COUNTER, confirm_caution, wait_for_sounds
from tests.drill.word_recordings import white_noise, word_sound

pytestmark = pytest.mark.usefixtures("home")
RATE_HZ = 48_000
QUIET_BEFORE_S, QUIET_AFTER_S = 2.8, 3.0
"""The page measures the room in the quiet before the word; each recording plays the file from its
start."""


def write_word(path: Path, *, level_db: float = -20.0) -> Path:
    """Write a file with quiet, a sound like a word, and quiet."""
    word = word_sound(0.6, level_db, rate_hz=RATE_HZ)
    before, after = round(QUIET_BEFORE_S * RATE_HZ), round(QUIET_AFTER_S * RATE_HZ)
    sound = np.pad(word, (before, after))
    noise = np.resize(white_noise(1, -70), len(sound))
    write_audio(path, Clip(samples=(sound + noise).astype(np.float32), rate_hz=RATE_HZ))
    return path


@contextmanager
def page_with_microphone(
    browser: Browser, chromium: str, site: str, recording: Path
) -> Iterator[Page]:
    """Yield the page "Your own voice", with a microphone that plays a file."""
    arguments = [
        *CHROMIUM_ARGUMENTS,
        "--use-fake-device-for-media-stream",
        "--use-fake-ui-for-media-stream",
        f"--use-file-for-fake-audio-capture={recording}%noloop",
    ]
    own_browser = browser.browser_type.launch(executable_path=chromium, args=arguments)
    with Store(record_file()) as store:
        confirm_caution(store)
    with ExitStack() as stack:
        stack.callback(own_browser.close)
        page = stack.enter_context(logged_in_page(own_browser, site))
        page.add_init_script(SOUND_COUNTER)
        page.goto(f"{site}/own-voice")
        expect(page.locator("#banks-folder")).not_to_be_empty()
        yield page


def begin_voice(page: Page) -> None:
    """Fill the form and begin, by keyboard."""
    page.locator("#speaker").fill("Ada")
    page.locator("#name").fill("ada")
    page.locator("#consent").check()
    page.locator("#name").press("Enter")
    expect(page.locator("#record")).to_be_focused()


def test_words_are_recorded_and_kept(
    browser: Browser, chromium: str, site: str, tmp_path: Path
) -> None:
    recording = write_word(tmp_path / "word.wav")
    with page_with_microphone(browser, chromium, site, recording) as page:
        page.get_by_role("button", name="Record this voice").click()
        expect(page.locator("#problem")).to_contain_text("consent")
        begin_voice(page)
        expect(page.locator("#word-title")).to_have_text("The room")
        assert violations(page) == []
        page.keyboard.press("Enter")
        expect(page.locator("#verdict")).to_contain_text("quiet enough")
        expect(page.locator("#word-title")).to_have_text("alfa")
        page.keyboard.press("Enter")
        expect(page.locator("#verdict")).to_contain_text("Saved: alfa.")
        expect(page.locator("#word-title")).to_have_text("bravo")
        expect(page.locator("#place")).to_contain_text("word 2 of 37, 1 recorded")
        assert violations(page) == []
        page.get_by_role("button", name="Play it").click()
        wait_for_sounds(page, 1)
        page.get_by_role("button", name="Say the level").click()
        expect(page.get_by_role("status")).to_contain_text("dB re full scale: good.")
        page.reload()  # the saved word stays saved
        page.get_by_role("button", name="Record words of ada").click()
        expect(page.locator("#place")).to_contain_text("1 of 37 essential words")
        page.get_by_role("button", name="Stop for now").click()
        bank = load_bank("ada")
        assert bank is not None
        assert list(bank.words) == ["alfa"]
        assert bank.consent.speaker == "Ada"
        page.get_by_role("button", name="Delete ada").click()
        page.get_by_role("button", name="Delete the recordings of ada for good").click()
        expect(page.locator("#banks")).to_have_text("None yet.")
        assert load_bank("ada") is None


def test_the_recogniser_learns_a_voice(
    page: Page, site: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    digest = load_model().digest

    def enrol(*_: object) -> Enrolment:
        weights, bias = np.zeros((2, 3), np.float32), np.zeros(3, np.float32)
        adaptation = Adaptation(weights=weights, bias=bias, model_digest=digest)
        return Enrolment(adaptation=adaptation, words=37, before=25, after=34)

    monkeypatch.setattr("drill.sending.enrol_banks.enrol_voice", enrol)
    create_bank("ada", Consent(speaker="Ada", at="2026-03-01T09:00:00+00:00"))
    page.goto(f"{site}/own-voice")
    page.get_by_role("button", name="Let the recogniser learn ada").press("Enter")
    expect(page.locator("#learnt-says")).to_contain_text("before, and 34 after")
    used = page.get_by_label("Speak recognises with the learnt voice")
    expect(used).to_have_value("ada")
    assert violations(page) == []
    used.select_option("none")
    expect(page.locator("#learnt-says")).to_be_visible()
    page.get_by_role("button", name="Forget ada").click()
    page.get_by_role("button", name="Forget the learnt voice ada").click()
    expect(used).to_be_hidden()
    assert enrolled_names() == ()


def test_a_faulty_recording_is_kept_only_on_request(
    browser: Browser, chromium: str, site: str, tmp_path: Path
) -> None:
    recording = write_word(tmp_path / "word.wav", level_db=6.0)
    with page_with_microphone(browser, chromium, site, recording) as page:
        begin_voice(page)
        page.keyboard.press("Enter")
        expect(page.locator("#word-title")).to_have_text("alfa")
        page.keyboard.press("Enter")
        expect(page.locator("#verdict")).to_contain_text("Clipped")
        bank = load_bank("ada")
        assert bank is not None
        assert not bank.words
        page.get_by_role("button", name="Keep it as it is").click()
        expect(page.locator("#word-title")).to_have_text("bravo")
        expect(page.locator("#record")).to_be_focused()
        bank = load_bank("ada")
        assert bank is not None
        assert list(bank.words) == ["alfa"]
