"""The studio voice's speed is measured once, stored, and valid for one computer."""

import json
import os
import platform
import time
from pathlib import Path

import numpy as np
import pytest

from drill.core.models import Clip
from drill.core.paths import cache_folder
from drill.voices.engines.studio.speed import (
    MAX_SHARE_OF_LENGTH,
    StudioSpeed,
    measure_studio_speed,
    stored_studio_speed,
    studio_is_quick_enough,
)
from tests.drill.voices.common import missing_reason


class BusyEngine:
    """An engine that takes a given processor time for an over of one second."""

    def __init__(self, seconds: float) -> None:
        self.clock_s = 0.0
        self._seconds = seconds

    def synthesise(self, *_: object) -> Clip:
        self.clock_s += self._seconds
        return Clip(samples=np.ones(8_000, np.float32), rate_hz=8_000)


def measure_with(monkeypatch: pytest.MonkeyPatch, seconds: float) -> StudioSpeed:
    engine = BusyEngine(seconds)
    monkeypatch.setattr("drill.voices.engines.studio.engine.StudioEngine", lambda: engine)
    monkeypatch.setattr(time, "thread_time", lambda: engine.clock_s)
    monkeypatch.setattr(os, "cpu_count", lambda: 2)
    return measure_studio_speed()


def test_nothing_is_known_before_the_measurement(home: Path) -> None:
    assert stored_studio_speed() is None
    assert not studio_is_quick_enough()


@pytest.mark.parametrize(("seconds", "quick"), [(0.5, True), (0.8, True), (0.9, False)])
def test_the_result_is_stored(
    home: Path, monkeypatch: pytest.MonkeyPatch, seconds: float, quick: bool
) -> None:
    assert measure_with(monkeypatch, seconds) == StudioSpeed(share_of_length=seconds)
    assert stored_studio_speed() == StudioSpeed(share_of_length=seconds)
    assert studio_is_quick_enough() == quick == (seconds <= MAX_SHARE_OF_LENGTH)


def test_one_processor_is_too_few(home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(os, "cpu_count", lambda: 1)
    assert not StudioSpeed(share_of_length=0.1).is_quick_enough


def test_another_computer_is_measured_anew(home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    measure_with(monkeypatch, 0.5)
    monkeypatch.setattr(platform, "node", lambda: "another")
    assert stored_studio_speed() is None


@pytest.mark.parametrize(
    "content",
    [b"", b"\xff", b"[]", b"{}", json.dumps({"computer": "x", "share_of_length": "a"}).encode()],
)
def test_a_damaged_file_is_not_a_result(home: Path, content: bytes) -> None:
    path = cache_folder() / "studio-speed.json"
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(content)
    assert stored_studio_speed() is None


@pytest.mark.slow
@pytest.mark.skipif(bool(missing_reason("studio")), reason="the extra `studio` is not installed")
def test_this_computer_can_be_measured(home: Path) -> None:
    assert measure_studio_speed() == stored_studio_speed()
