"""Setting up from a fresh checkout: what can be tested without making an environment each time."""

import hashlib
import subprocess
import sys
from pathlib import Path

import pytest

from drill import start


def test_the_own_installer_is_the_one_that_was_checked() -> None:
    assert hashlib.sha256(start.OWN_PIP.read_bytes()).hexdigest() == start.OWN_PIP_SHA256
    version = subprocess.run(
        [*start.installer(Path(sys.executable), bundled=False), "--version"],
        capture_output=True,
        text=True,
        check=True,
    )
    assert version.stdout.startswith("pip ")


def test_a_damaged_installer_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    copy = tmp_path / start.OWN_PIP.name
    copy.write_bytes(start.OWN_PIP.read_bytes()[:-1])
    monkeypatch.setattr(start, "OWN_PIP", copy)
    with pytest.raises(SystemExit, match="damaged"):
        start.installer(Path(sys.executable), bundled=False)


def test_an_environment_is_made_without_an_installer(tmp_path: Path) -> None:
    """As on a system whose Python has no ensurepip."""
    python = start.make_environment(tmp_path / "env", bundled=False)
    command = [*start.installer(python, bundled=False), "list"]
    done = subprocess.run(command, capture_output=True, text=True, check=True)
    assert "faintcall" not in done.stdout


def test_what_is_installed_is_not_installed_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    environment = tmp_path / "env"
    python = start.make_environment(environment, bundled=False)
    start.stamp(environment, "[test]").touch()
    monkeypatch.setattr("subprocess.run", lambda *_, **__: pytest.fail("installed again"))
    assert start.install(environment, extras="[test]") == python


def test_another_pyproject_means_another_installation(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "pyproject.toml").write_text("one")
    monkeypatch.setattr(start, "ROOT", tmp_path)
    first = start.stamp(tmp_path, "")
    (tmp_path / "pyproject.toml").write_text("two")
    assert start.stamp(tmp_path, "") != first
    assert start.stamp(tmp_path, "[test]") != start.stamp(tmp_path, "")


def test_an_old_python_is_told_what_is_needed(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("sys.version_info", (3, 10, 4))
    assert start.main([]) == 2
    assert "This is Python 3.10; faintcall needs 3.11 or newer." in capsys.readouterr().err
