"""Audio outputs of the terminal: files, and the sound card."""

from pathlib import Path

import numpy as np
import pytest

from drill.cli.audio_out import FileOutput, SoundCardOutput, open_output
from drill.core.audio_files import read_audio
from drill.core.errors import UserError
from drill.core.models import Clip

CLIP = Clip(samples=np.full(800, 0.25, np.float32), rate_hz=8_000)


def test_a_clip_is_written_under_its_name(tmp_path: Path) -> None:
    output = open_output(tmp_path / "new")
    assert isinstance(output, FileOutput)
    path = tmp_path / "new" / "item-001.wav"
    assert output.play(CLIP, "item-001") == f"The sound is in {path}"
    assert np.allclose(read_audio(path).samples, CLIP.samples, atol=2**-15)


def test_a_written_clip_counts_as_playing_for_its_length(tmp_path: Path) -> None:
    output = open_output(tmp_path)
    output.play(Clip(samples=np.zeros(800_000, np.float32), rate_hz=8_000), "long")
    assert output.seconds_since_end() == 0
    output.wait()  # returns at once, although the sound is long
    output.stop()


def test_a_folder_that_cannot_be_made_is_refused(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(UserError):
        open_output(tmp_path / "file")


def test_without_a_folder_the_sound_card_is_used(monkeypatch: pytest.MonkeyPatch) -> None:
    played: list[Clip] = []

    class FakeCard:
        def play(self, clip: Clip) -> None:
            played.append(clip)

        def seconds_since_end(self) -> float:
            return 0.1

        def stop(self) -> None:
            played.clear()

    monkeypatch.setattr("drill.cli.audio_out.SoundCard", FakeCard)
    output = open_output(None)
    assert isinstance(output, SoundCardOutput)
    assert output.play(CLIP, "item-001") == ""
    assert played == [CLIP]
    output.wait()
    output.stop()
    assert played == []
