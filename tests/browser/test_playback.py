"""What leaves the page as sound, read from the browser's audio graph behind the last node."""

import math
from typing import Any

import pytest
from playwright.sync_api import Page, Route, expect

from drill.core.models import Clip
from drill.core.paths import record_file
from drill.items.plan import Plan
from drill.items.render import render
from drill.records.store import Store
from drill.session.courses import Practising
from tests.browser.session_steps import begun, enter, focused, kept
from tests.browser.page_states import COUNTED, LONG_MS, SHORT, begin, sounding
from tests.web.client import present

pytestmark = pytest.mark.usefixtures("home")
PROBE = """
window.contexts = [];
window.ramps = [];
window.gains = [];
window.peaks = [0, 0];
window.Real = window.AudioContext;
window.AudioContext = class extends Real {
  constructor(how) {
    super(how);
    window.contexts.push(this);
  }
};
const RealGain = window.GainNode;
window.GainNode = class extends RealGain {
  constructor(context, how) {
    super(context, how);
    window.gains.push(this.gain);
  }
};
const ramp = AudioParam.prototype.linearRampToValueAtTime;
AudioParam.prototype.linearRampToValueAtTime = function (value, at) {
  window.ramps.push([value, at - window.contexts[0].currentTime]);
  return ramp.call(this, value, at);
};
const connect = AudioNode.prototype.connect;
AudioNode.prototype.connect = function (to, ...more) {
  if (to instanceof AudioDestinationNode) {
    const split = new ChannelSplitterNode(this.context, { numberOfOutputs: 2 });
    connect.call(this, split);
    [0, 1].forEach((ear) => {
      const probe = new AnalyserNode(this.context, { fftSize: 32768 });
      connect.call(split, probe, ear);
      const heard = new Float32Array(32768);
      setInterval(() => {
        probe.getFloatTimeDomainData(heard);
        for (const one of heard) {
          window.peaks[ear] = Math.max(window.peaks[ear], Math.abs(one));
        }
      }, 100);
    });
  }
  return connect.call(this, to, ...more);
};
"""
"""Keeps the peak of what goes to the machine's output, of each ear, and every ramp and gain."""


def opened(page: Page, site: str, **settings: Any) -> str:
    """Open a sitting with these settings and the probe; return its identity."""
    identity = begin()
    page.add_init_script(COUNTED)
    page.add_init_script(PROBE)
    page.goto(f"{site}/help")
    refused = page.evaluate(
        """(values) => fetch("/api/settings", {method: "POST", body: JSON.stringify({values}),
        headers: {"content-type": "application/json"}}).then((one) => one.ok ? "" : one.text())""",
        settings,
    )
    assert refused == ""
    page.goto(f"{site}/practise?go={identity}")
    expect(page.locator("#copy")).to_be_focused()
    return identity


def ended(page: Page) -> None:
    """Wait for the end of the sound that plays."""
    page.evaluate(
        """() => new Promise((done) => document.addEventListener("sound", (event) => {
        if (!event.detail) done(); }))"""
    )


def peak(clip: Clip) -> float:
    return float(abs(clip.samples).max())


def test_nothing_sounds_before_a_key_and_the_gain_is_the_square_of_the_volume(
    page: Page, site: str
) -> None:
    identity = opened(page, site, volume=0.8)
    page.wait_for_timeout(300)
    assert page.evaluate("window.contexts.length") == 0
    made = peak(render(present(identity)))
    enter(page)
    sounding(page, 1)
    assert page.evaluate("window.contexts.map((one) => one.state)") == ["running"]
    ended(page)
    assert focused(page) == "copy"
    left, right = page.evaluate("window.peaks")
    assert left == pytest.approx(right)
    # In the middle each ear has half of the power (Web Audio API 1.1, StereoPannerNode: equal
    # power); peaks differ a little, since the browser resamples to the machine's rate.
    assert left == pytest.approx(0.64 * math.sqrt(0.5) * made, rel=0.1)
    page.wait_for_timeout(400)
    enter(page, "q9abc")
    expect(page.locator("#verdict")).to_be_visible()
    (attempt,) = kept(identity)
    assert 0.3 < attempt.answer.seconds < 30


def test_the_gain_is_never_above_one(page: Page, site: str) -> None:
    opened(page, site, volume=1.0)
    enter(page)
    sounding(page, 1)
    page.locator("#volume").evaluate(
        "(one) => { one.max = 9; one.value = 9; one.dispatchEvent(new Event('input')); }"
    )
    page.wait_for_timeout(300)
    assert max(page.evaluate("window.gains.map((one) => one.value)")) <= 1
    assert max(value for value, _ in page.evaluate("window.ramps")) <= 1
    assert max(page.evaluate("window.peaks")) <= 1


def test_one_ear_and_a_stop_in_a_ramp(page: Page, site: str) -> None:
    opened(page, site, speech_side="left", volume=1.0)
    enter(page)
    sounding(page, 1)
    page.wait_for_timeout(700)
    left, right = page.evaluate("window.peaks")
    assert left > 0.01
    assert right == pytest.approx(0, abs=1e-6)
    page.get_by_role("button", name="Stop the sound").press("Enter")
    assert focused(page) == "copy"
    up, down = page.evaluate("window.ramps")
    assert up == [1, pytest.approx(0.02, abs=0.005)]
    assert down == [0, pytest.approx(0.02, abs=0.005)]
    page.wait_for_timeout(900)  # past what the probe still holds
    page.evaluate("window.peaks = [0, 0]")
    page.wait_for_timeout(300)
    assert page.evaluate("window.peaks") == [0, 0]


def test_a_line_sent_before_its_sound_is_there_stays(page: Page, site: str) -> None:
    identity = begin()
    page.add_init_script(COUNTED)
    held: list[Route] = []

    def hold(route: Route) -> None:
        held.append(route)

    page.route("**/items/0", hold)
    page.goto(f"{site}/practise?go={identity}")
    expect(page.locator("#copy")).to_be_focused()
    enter(page)
    enter(page, "q9abc")
    expect(page.get_by_role("status")).to_contain_text("Your line stays")
    assert kept(identity) == []
    held[0].continue_()
    sounding(page, 1)
    expect(page.locator("#copy")).to_have_value("q9abc")
    enter(page)
    expect(page.locator("#verdict")).to_contain_text("Not right", timeout=LONG_MS)
    assert [one.answer.text for one in kept(identity)] == ["q9abc"]


def test_training_plays_a_miss_clean_and_then_in_the_noise(page: Page, site: str) -> None:
    from drill.session.blocks import training

    plan = Plan(seed=SHORT.seed, count=2, mix="unassigned", voices=("rivet",))
    with Store(record_file()) as store:
        course = training(plan, store)
    assert not isinstance(course, Practising)
    page.add_init_script(COUNTED)
    page.goto(f"{site}/practise?go={begun(course)}")
    expect(page.locator("#copy")).to_be_focused()
    enter(page)
    sounding(page, 1)
    enter(page, ".")
    expect(page.get_by_role("button", name="Hear it again Enter").first).to_be_visible()
    enter(page)
    sounding(page, 3)
    assert focused(page) == "copy"
    enter(page)
    expect(page.get_by_role("heading", name="Item 2 of 2")).to_be_visible()
