"""The sound that leaves the page, measured in the browser's audio graph after the last node."""

import math
from typing import Any

import pytest
from playwright.sync_api import Page, Route, expect

from drill.core.paths import record_file
from drill.items.plan import Plan
from drill.items.render import render
from drill.records.store import Store
from drill.session.kinds.training import Training
from drill.session.settings import change_settings
from tests.browser.session_steps import (
    SHORT_PLAN,
    WRONG,
    begin_in_record,
    begin_practice,
    enter,
    focused_id,
    open_session,
    play,
    stored_attempts,
    wait_for_sounds,
    wait_until,
)
from tests.web.client import current_item

pytestmark = pytest.mark.usefixtures("home")
OUTPUT_PROBE = """
window.contexts = [];
window.ramps = [];
window.gains = [];
window.peaks = [0, 0];
const RealContext = window.AudioContext;
window.AudioContext = class extends RealContext {
  constructor(options) {
    super(options);
    window.contexts.push(this);
  }
};
const RealGain = window.GainNode;
window.GainNode = class extends RealGain {
  constructor(context, options) {
    super(context, options);
    window.gains.push(this.gain);
  }
};
const set = AudioParam.prototype.setValueAtTime;
AudioParam.prototype.setValueAtTime = function (value, time) {
  this.setAt = time;
  return set.call(this, value, time);
};
const ramp = AudioParam.prototype.linearRampToValueAtTime;
AudioParam.prototype.linearRampToValueAtTime = function (value, time) {
  window.ramps.push([value, time - this.setAt]);
  return ramp.call(this, value, time);
};
const connect = AudioNode.prototype.connect;
AudioNode.prototype.connect = function (target, ...more) {
  if (target instanceof AudioDestinationNode) {
    const splitter = new ChannelSplitterNode(this.context, { numberOfOutputs: 2 });
    connect.call(this, splitter);
    [0, 1].forEach((ear) => {
      const samples = new Float32Array(32768);
      // Delayed copies, so that a page that was held up for 2 s misses no peak.
      for (const delayTime of [0, 0.6, 1.2, 1.8]) {
        const delay = new DelayNode(this.context, { delayTime, maxDelayTime: 2 });
        const analyser = new AnalyserNode(this.context, { fftSize: 32768 });
        connect.call(splitter, delay, ear);
        connect.call(delay, analyser);
        setInterval(() => {
          analyser.getFloatTimeDomainData(samples);
          for (const sample of samples) {
            window.peaks[ear] = Math.max(window.peaks[ear], Math.abs(sample));
          }
        }, 400);
      }
    });
  }
  return connect.call(this, target, ...more);
};
"""
"""Script that stores the output's peak for each ear, each ramp's target and duration, and gains."""
PROBE_MEMORY_S = 2.5
"""Time for which the probe still sees a sound after its end."""


def open_with_settings(page: Page, site: str, **settings: Any) -> str:
    """Save settings and open a practice session with the probe; return the session's identity."""
    with Store(record_file()) as store:
        change_settings(store, settings)
    session = begin_practice()
    open_session(page, site, f"practise?session={session}", OUTPUT_PROBE)
    return session


def wait_for_audio(page: Page, seconds: float) -> None:
    """Wait until the audio output has processed this many seconds, however slow the computer is."""
    start = page.evaluate("window.contexts[0].currentTime")
    wait_until(page, f"window.contexts[0].currentTime >= {start + seconds}")


@pytest.mark.slow
def test_nothing_plays_before_a_key_and_the_gain_is_the_square_of_the_volume(
    page: Page, site: str
) -> None:
    session = open_with_settings(page, site, volume=0.8)
    page.wait_for_timeout(300)
    assert page.evaluate("window.contexts.length") == 0
    item_peak = float(abs(render(current_item(session)).samples).max())
    play(page)
    assert page.evaluate("window.contexts.map((context) => context.state)") == ["running"]
    wait_until(page, "window.endedSoundCount >= 1")
    assert focused_id(page) == "answer-line"
    wait_for_audio(page, 0.5)  # needed by the probe
    left, right = page.evaluate("window.peaks")
    assert left == pytest.approx(right)
    # In the middle each ear has half of the power (Web Audio API 1.1, StereoPannerNode: equal
    # power). The browser resamples to the output's rate, which changes peaks slightly.
    assert left == pytest.approx(0.64 * math.sqrt(0.5) * item_peak, rel=0.1)
    page.wait_for_timeout(400)  # thinking time, which the page stores
    enter(page, WRONG)
    expect(page.locator("#verdict")).to_be_visible()
    (attempt,) = stored_attempts(session)
    assert 0.3 < attempt.answer.seconds < 30


def test_gain_never_exceeds_one(page: Page, site: str) -> None:
    open_with_settings(page, site, volume=1.0)
    play(page)
    page.locator("#volume").evaluate(
        "(slider) => { slider.max = 9; slider.value = 9; "
        "slider.dispatchEvent(new Event('input')); }"
    )
    page.wait_for_timeout(300)
    assert max(page.evaluate("window.gains.map((gain) => gain.value)")) <= 1
    assert max(value for value, _ in page.evaluate("window.ramps")) <= 1
    assert max(page.evaluate("window.peaks")) <= 1


@pytest.mark.slow
def test_one_ear_stays_silent_and_stopping_uses_a_ramp(page: Page, site: str) -> None:
    open_with_settings(page, site, speech_side="left", volume=1.0)
    play(page)
    wait_until(page, "window.peaks[0] > 0.01")
    assert page.evaluate("window.peaks[1]") == pytest.approx(0, abs=1e-6)
    page.get_by_role("button", name="Stop the sound").press("Enter")
    assert focused_id(page) == "answer-line"
    up, down = page.evaluate("window.ramps")
    assert up == [1, pytest.approx(0.02)]
    assert down == [0, pytest.approx(0.02)]
    # The item lasts longer than this wait, but the output is silent after the ramp.
    wait_for_audio(page, PROBE_MEMORY_S)
    page.evaluate("window.peaks = [0, 0]")
    wait_for_audio(page, 0.5)
    assert page.evaluate("window.peaks") == [0, 0]


def test_text_typed_before_an_item_is_heard_is_discarded(page: Page, site: str) -> None:
    session = begin_practice()
    held: list[Route] = []

    def hold(route: Route) -> None:
        held.append(route)

    page.route("**/items/0", hold)
    open_session(page, site, f"practise?session={session}")
    enter(page)
    enter(page, WRONG)
    expect(page.get_by_role("status")).to_contain_text("before you hear the item is discarded")
    assert stored_attempts(session) == []
    held[0].continue_()
    wait_for_sounds(page, 1)
    expect(page.locator("#answer-line")).to_have_value("")
    assert stored_attempts(session) == []
    enter(page, WRONG)
    expect(page.locator("#verdict")).to_contain_text("Not right")
    assert [attempt.answer.typed for attempt in stored_attempts(session)] == [WRONG]


@pytest.mark.slow
def test_training_plays_a_missed_item_clean_and_then_in_the_noise(page: Page, site: str) -> None:
    plan = Plan(seed=SHORT_PLAN.seed, count=2, mix="unassigned", voices=("rivet",))
    with Store(record_file()) as store:
        training = Training.from_plan(plan, store)
    open_session(page, site, f"practise?session={begin_in_record(training)}")
    play(page)
    enter(page, ".")
    expect(page.get_by_role("button", name="Play again Enter").first).to_be_visible()
    enter(page)
    wait_for_sounds(page, 3)
    assert focused_id(page) == "answer-line"
    enter(page)
    expect(page.get_by_role("heading", name="Item 2 of 2")).to_be_visible()
