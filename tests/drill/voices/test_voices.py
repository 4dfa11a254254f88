"""Engines are found by name, loaded when they are needed, and left out where they cannot speak."""

import subprocess
import sys
from importlib.metadata import EntryPoint, EntryPoints

import pytest

from drill import voices
from drill.core import entrypoints
from drill.core.errors import NoVoice
from drill.voices.engines.natural import model as natural_model
from drill.voices.operators import find_operator


def test_importing_the_package_loads_no_engine() -> None:
    code = (
        "import sys, drill.voices as v; v.engine_names(); heavy = {'onnx', 'onnxruntime', "
        "'hibari', 'pyttsx3', 'soundfile', 'scipy.signal', 'scipy.special'}; "
        "print(sorted(heavy & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_an_unknown_engine_is_an_error_that_lists_the_choices() -> None:
    with pytest.raises(NoVoice, match=r"'brass'; .*: bank, formant, natural, studio, system"):
        voices.find_engine("brass")


def test_an_engine_that_cannot_be_imported_is_an_error(monkeypatch: pytest.MonkeyPatch) -> None:
    group = voices.ENGINE_ENTRY_POINTS
    broken = EntryPoints([EntryPoint("lost", "no_such_module_here:X", group)])
    monkeypatch.setattr(entrypoints, "group_entries", lambda group: broken.select(group=group))
    with pytest.raises(NoVoice, match="no_such_module_here"):
        voices.find_engine("lost")


def test_operators_of_a_missing_engine_are_left_out(monkeypatch: pytest.MonkeyPatch) -> None:
    engines = {operator.engine for operator in voices.usable_operators()}
    assert engines == {"natural", "formant"}
    natural_model.natural_model_content.cache_clear()
    monkeypatch.setattr(natural_model, "find_spec", lambda name: None)
    assert {operator.engine for operator in voices.usable_operators()} == {"formant"}
    with pytest.raises(NoVoice, match="hibari-tts"):
        voices.usable_operators([find_operator("slate")])


def test_no_words_are_an_error() -> None:
    with pytest.raises(ValueError, match="no words"):
        voices.speak([], find_operator("tin"), 1)
