"""Detection of the end of speech from the levels of a recording's blocks."""

from collections.abc import Sequence

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from drill.cli.contact_microphone import OVER_END
from drill.cli.speak_microphone import TAKE_END
from drill.cli.speech_detection import KEY_NOISE_S, SpeechEnd, SpeechMonitor, amplitude_db
from drill.core.models import Clip
from drill.devices.microphone import BLOCK_S, InputLevel

ENDS = pytest.mark.parametrize("end", [TAKE_END, OVER_END])
RATE_HZ = 8_000


@pytest.mark.parametrize(("amplitude", "level_db"), [(1.0, 0.0), (0.1, -20.0), (0.0, -120.0)])
def test_an_amplitude_in_decibels(amplitude: float, level_db: float) -> None:
    """20 log10 of the amplitude."""
    assert amplitude_db(amplitude) == pytest.approx(level_db)


def block_levels(*parts: tuple[float, float]) -> list[float]:
    """Return the level of each block; a part is its level in dB and its length in s."""
    return [level for level, seconds in parts for _ in range(round(seconds / BLOCK_S))]


def follow_levels(levels_db: Sequence[float], end: SpeechEnd) -> tuple[SpeechMonitor, int | None]:
    """Return the monitor after these blocks, and the block that ended the recording."""
    monitor = SpeechMonitor(end)
    for number, level_db in enumerate(levels_db, 1):
        rms = 10 ** (level_db / 20)
        if monitor.follow(InputLevel(end_s=KEY_NOISE_S + number * BLOCK_S, peak=rms, rms=rms)):
            return monitor, number
    return monitor, None


@ENDS
@given(
    deviations_db=st.lists(st.floats(-3, 3), min_size=1, max_size=200), level_db=st.floats(-90, -20)
)
def test_background_noise_without_speech_never_ends(
    end: SpeechEnd, deviations_db: list[float], level_db: float
) -> None:
    monitor, ended = follow_levels([level_db + deviation for deviation in deviations_db], end)
    assert ended is None
    assert not monitor.has_spoken


@ENDS
@given(
    pause_shares=st.lists(st.floats(0.03, 0.9), min_size=1, max_size=4),
    background_db=st.floats(-85, -45),
    above_db=st.floats(16, 40),
)
def test_speech_ends_after_quiet_but_not_in_a_pause(
    end: SpeechEnd, pause_shares: list[float], background_db: float, above_db: float
) -> None:
    speech_db = max(background_db + above_db, -40)
    parts = [(background_db, 0.5)]
    for share in pause_shares:
        parts += [(speech_db, 0.4), (background_db, share * end.quiet_s)]
    spoken = block_levels(*parts, (speech_db, 0.4))
    quiet = block_levels((background_db, 3.0))
    monitor, ended = follow_levels(spoken + quiet, end)
    assert ended == len(spoken) + end.quiet_blocks
    assert monitor.has_spoken


def test_speech_during_the_lead_in_is_recorded_to_its_end() -> None:
    levels = block_levels((-20, 2.0), (-60, 0.1), (-20, 1.0), (-60, 2.0))
    assert follow_levels(levels, TAKE_END)[1] == len(levels)


@ENDS
def test_a_click_is_not_speech(end: SpeechEnd) -> None:
    click = [-20.0] * (end.min_blocks - 1)
    levels = block_levels((-60, 0.5)) + click + block_levels((-60, 5.0))
    assert follow_levels(levels, end)[1] is None


@ENDS
def test_the_noise_of_the_key_and_most_of_the_last_quiet_are_cut_off(end: SpeechEnd) -> None:
    levels = block_levels((-60, 0.5), (-20, 1.0), (-60, 3.0))
    monitor, ended = follow_levels(levels, end)
    assert ended is not None
    recording = Clip(samples=np.arange(10 * RATE_HZ, dtype=np.float32), rate_hz=RATE_HZ)
    trimmed = monitor.trim(recording)
    assert trimmed.samples[0] == round(KEY_NOISE_S * RATE_HZ)
    assert trimmed.seconds == pytest.approx(1.5 + end.kept_quiet_s, abs=BLOCK_S)
