"""Only the pinned model is run."""

from pathlib import Path

import pytest

from drill import voices
from drill.voices.engines.studio import model
from tests.drill.voices.common import missing_reason


@pytest.mark.skipif(bool(missing_reason("studio")), reason="the extra `studio` is not installed")
def test_another_model_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "part.bin").write_bytes(b"something else")
    monkeypatch.setattr(model, "_package_folder", lambda package: tmp_path)
    assert "not the version that was tested" in voices.find_engine("studio").problem()
    (tmp_path / "part.bin").unlink()
    assert "cannot be read" in voices.find_engine("studio").problem()
