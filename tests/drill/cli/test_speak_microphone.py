"""Recording a take: its start, its end, and the parts that are cut off."""

from collections.abc import Callable

import numpy as np
import pytest

from drill.cli.keyboard import EnterKey
from drill.cli.speak_microphone import TAKE_END, MicrophoneSource
from drill.cli.speech_detection import KEY_NOISE_S
from drill.core.errors import UserError
from drill.core.models import Clip
from drill.devices.microphone import BLOCK_S, InputLevel
from drill.sending.limits import FIGURE_LIMITS
from tests.drill.cli.speaking import (
    LEAD_OUT_S,
    RATE_HZ,
    FakeMicrophone,
    room_noise,
    spoken_take,
)
from tests.drill.devices.fake_input import use_library
from tests.tools.defects import LEAD_IN_S as TAKE_NOISE_S


class PressedKey(EnterKey):
    """Enter, pressed once the recording has polled the key more than `after` times."""

    def __init__(self, after: int) -> None:
        self._left = after

    def was_pressed(self) -> bool:
        self._left -= 1
        return self._left < 0

    def discard(self) -> None:
        pass


NEVER_PRESSED = 10_000


def test_a_pause_that_the_review_reports_does_not_end_the_recording() -> None:
    reported_s = FIGURE_LIMITS["pause"].high
    assert reported_s is not None
    assert reported_s + 0.5 < TAKE_END.quiet_s


def test_a_take_begins_after_the_key_and_ends_after_the_speech(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    sound = spoken_take()
    use_library(monkeypatch, FakeMicrophone(np.concatenate((sound, room_noise(10)))))
    clip = MicrophoneSource(enter=PressedKey(NEVER_PRESSED)).record()
    first = round(KEY_NOISE_S * RATE_HZ)
    assert np.array_equal(clip.samples, sound[first : first + len(clip.samples)])
    speech_end_s = len(sound) / RATE_HZ - TAKE_NOISE_S - LEAD_OUT_S
    assert clip.seconds + KEY_NOISE_S == pytest.approx(speech_end_s + 0.8, abs=0.2)
    assert capsys.readouterr().out.splitlines() == [
        "Recording. Keep still.", "Say it now.", f"Recorded, {clip.seconds:.1f} s.",
    ]  # fmt: skip
    # The lead-in contains nothing but noise, which the review measures.
    assert np.max(np.abs(clip.samples[: round(0.5 * RATE_HZ)])) < 0.01


def test_enter_ends_a_recording_at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    use_library(monkeypatch, FakeMicrophone(spoken_take()))
    clip = MicrophoneSource(enter=PressedKey(30)).record()
    assert clip.seconds == pytest.approx((TAKE_END.lead_in_blocks + 31) * BLOCK_S, abs=2 * BLOCK_S)


@pytest.mark.parametrize(("peak", "recorded_s"), [(0.0, 4.0), (0.001, 30.0)])
def test_a_muted_microphone_ends_a_recording_and_a_quiet_room_does_not(
    peak: float, recorded_s: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    ended_s = []

    def record_clip(*, seconds: float, until: Callable[[InputLevel], bool]) -> Clip:
        for number in range(1, round(seconds / BLOCK_S) + 1):
            end_s = number * BLOCK_S
            if until(InputLevel(end_s=end_s, peak=peak, rms=peak)):
                break
        ended_s.append(end_s)
        return Clip(samples=np.zeros(round(end_s * RATE_HZ), np.float32), rate_hz=RATE_HZ)

    monkeypatch.setattr("drill.devices.microphone.record_clip", record_clip)
    MicrophoneSource(enter=PressedKey(NEVER_PRESSED)).record()
    assert ended_s == [pytest.approx(recorded_s)]


def test_a_recording_with_lost_samples_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    def record_clip(*, seconds: float, until: Callable[[InputLevel], bool]) -> Clip:
        for number in range(1, 61):
            until(InputLevel(end_s=number * BLOCK_S, peak=0.1, rms=0.05, overflowed=number == 50))
        return Clip(samples=spoken_take(), rate_hz=RATE_HZ)

    monkeypatch.setattr("drill.devices.microphone.record_clip", record_clip)
    with pytest.raises(UserError, match="samples were lost"):
        MicrophoneSource(enter=PressedKey(NEVER_PRESSED)).record()
