"""Only the pinned model is run."""

from pathlib import Path

import pytest

from drill import voices
from drill.voices.engines.natural import model as natural_model


def test_another_model_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "hibari.onnx").write_bytes(b"something else")
    monkeypatch.setattr(natural_model, "assets_folder", lambda: tmp_path)
    natural_model.natural_model_content.cache_clear()
    assert "not the version that was tested" in voices.find_engine("natural").problem()
    natural_model.natural_model_content.cache_clear()
