"""The system's voices: the case that the sound file is not written at the first request."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest
import soundfile

from drill.core.errors import NoVoice
from drill.core.models import Operator
from drill.voices.engines.system import engine
from drill.voices.engines.system.engine import SystemEngine
from phonetics.message import Word
from tests.drill.radio.sounds import voice_like

OPERATOR = Operator(name="system-test", engine="system", voice="test", pitch_hz=120.0)


@pytest.mark.parametrize("failures", [0, 2])
def test_a_file_that_is_not_written_is_requested_again(
    failures: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """On a busy computer, pyttsx3 sometimes writes no file."""
    runs: list[str] = []

    def run(_: object, request: Mapping[str, Any], **__: object) -> tuple[dict[str, Any], str]:
        runs.append(request["file"])
        if len(runs) > failures:
            clip = voice_like(1.0)
            soundfile.write(Path(request["file"]), clip.samples, clip.rate_hz)
        return {}, ""

    monkeypatch.setattr(engine, "run_engine_worker", run)
    clip = SystemEngine().synthesise([Word(say="alfa", means="A")], OPERATOR, 0)
    assert len(runs) == failures + 1
    assert clip.seconds == pytest.approx(1.0, abs=0.2)


def test_a_voice_that_never_writes_a_file_is_reported(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(engine, "run_engine_worker", lambda *_, **__: ({}, ""))
    with pytest.raises(NoVoice, match="wrote no sound"):
        SystemEngine().synthesise([Word(say="alfa", means="A")], OPERATOR, 0)
