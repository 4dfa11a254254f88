"""Printed lines about a review and a far end, and the sound files of a take and its far end."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from drill.cli.speak_dialogue import (
    FileSource,
    SpeakDialogue,
    far_end_lines,
    far_end_sounds,
    review_lines,
)
from drill.core.audio_files import read_audio, write_audio
from drill.core.conditions import Conditions
from drill.core.models import Clip
from drill.devices.microphone import RecordingInterrupted
from drill.records.store import Store
from tests.drill.cli.speaking import PROMPT, far_ends
from tests.drill.sending.takes import CALL_WITH_WRONG_B, CALL_WORDS, noise_clip, review_words


def test_a_review_without_findings_is_reported_in_four_lines() -> None:
    review = review_words(CALL_WORDS)
    sound = replace(review.sound, level_db=-20.2, peak_db=-3.1, speech_to_noise_db=40.3)
    assert list(review_lines(replace(review, pace_wpm=150.2, sound=sound))) == [
        f"Recognised: {CALL_WORDS}.",
        "Everything was said correctly.",
        "150 words per minute, longest pause 0.1 s; "
        "speech at -20 dB re full scale, peak -3 dB, noise 40 dB below it.",
        "No faults found.",
    ]


def test_each_finding_has_a_line_with_severity_and_remedy() -> None:
    *_, line = review_lines(review_words(CALL_WITH_WRONG_B))
    assert line.startswith("Fault: You said delta instead of bravo (B). ")
    assert next(review_lines(review_words(""))) == "Recognised: nothing."


def test_the_far_end_has_a_line_for_each_power() -> None:
    lines = list(far_end_lines(far_ends(), review_words(CALL_WORDS)))
    assert lines[1:] == [
        f"  {watts} W, SNR 0.0 dB: you 0.30, meadow 0.30" for watts in (100, 20, 5)
    ]
    names = [name for name, _ in far_end_sounds(far_ends())]
    assert names == [
        "take-100w", "meadow-100w", "take-20w", "meadow-20w", "take-5w", "meadow-5w",
    ]  # fmt: skip


def test_a_file_is_a_source_of_takes(tmp_path: Path) -> None:
    write_audio(tmp_path / "take.wav", noise_clip())
    assert FileSource(tmp_path / "take.wav").record().seconds == pytest.approx(6.0)


def test_an_interrupted_recording_is_kept(tmp_path: Path) -> None:
    class InterruptedSource:
        def record(self) -> Clip:
            raise RecordingInterrupted("No microphone: disconnected", noise_clip(1.0))

    with Store(tmp_path / "record") as store:
        dialogue = SpeakDialogue(
            store=store,
            source=InterruptedSource(),
            conditions=Conditions(),
            path_snr_db=10.0,
            take_folder=tmp_path / "takes",
        )
        with pytest.raises(RecordingInterrupted):
            dialogue.review(PROMPT)
        assert store.takes() == []
    (kept,) = (tmp_path / "takes").iterdir()
    assert np.allclose(read_audio(kept).samples, noise_clip(1.0).samples, atol=2**-14)
