"""A stub for the installation of the studio voices; it installs nothing."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from drill import voices
from drill.core.errors import ResourceUnavailable
from drill.core.extras import InstallProgress, InstallTarget
from drill.session import studio_voices
from drill.voices.engines.studio import speed as speed_module
from drill.voices.engines.studio.speed import StudioSpeed

STEPS = (
    InstallProgress(installing=False, file="part-1.whl", done_mb=20, total_mb=86),
    InstallProgress(installing=True, file="", done_mb=86, total_mb=86),
)


class StubInstallation:
    """Replaces pip, the environment, the engine's state and the measurement.

    installs: names of the extras that were installed. error: raised in place of an installation.
    """

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        """Replace them while the test runs."""
        self.installed = False
        self.installs: list[str] = []
        self.error: ResourceUnavailable | None = None
        self.target = InstallTarget(folder=Path("/own/.venv"), own=True, refusal="")
        self.speed = StudioSpeed(share_of_length=0.5)
        monkeypatch.setattr(studio_voices, "install_extra", self._install)
        monkeypatch.setattr(studio_voices, "install_target", lambda: self.target)
        monkeypatch.setattr(studio_voices, "measure_studio_speed", self._measure)
        monkeypatch.setattr(voices.find_engine("studio"), "problem", self._problem, raising=False)

    def _problem(self) -> str:
        return "" if self.installed else "the studio voice needs the package x"

    def _install(self, name: str) -> Iterator[InstallProgress]:
        if self.error:
            raise self.error
        yield from STEPS
        self.installs.append(name)
        self.installed = True

    def _measure(self) -> StudioSpeed:
        speed_module._store(self.speed)
        return self.speed
