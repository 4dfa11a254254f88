"""Setting up from a checkout, and repairing a broken environment."""

import hashlib
import os
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from drill import start

posix_only = pytest.mark.skipif(os.name != "posix", reason="links and folders of POSIX")


def make(environment: Path) -> Path:
    return start.make_environment(environment, bundled=False)


def runs(python: Path) -> bool:
    command = [str(python), "-c", "import sys; print(sys.prefix)"]
    result = subprocess.run(command, capture_output=True, text=True, check=True)
    return Path(result.stdout.strip()).resolve() == python.parents[1].resolve()


class FakeInstallation:
    """Stands in for pip and for the probe of the installed packages; counts the installations."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.commands: list[list[str]] = []
        self.returncode = 0
        self.fails_with = ""
        self.complete = True
        run = subprocess.run

        def fake_run(command: list[str], **options: Any) -> Any:
            if "install" in command:
                self.commands.append(command)
                failed = self.returncode or self.fails_with in command
                return subprocess.CompletedProcess(command, int(failed))
            return run(command, **options)

        monkeypatch.setattr("subprocess.run", fake_run)
        monkeypatch.setattr(start, "is_complete", lambda _: self.complete)
        find_spec = start.importlib.util.find_spec  # type: ignore[attr-defined]
        monkeypatch.setattr(
            "importlib.util.find_spec",
            lambda name, *rest: None if name == "ensurepip" else find_spec(name, *rest),
        )


@pytest.fixture
def installation(monkeypatch: pytest.MonkeyPatch) -> FakeInstallation:
    return FakeInstallation(monkeypatch)


def test_the_shipped_installer_is_the_one_that_was_checked() -> None:
    assert hashlib.sha256(start.OWN_PIP.read_bytes()).hexdigest() == start.OWN_PIP_SHA256
    version = subprocess.run(
        [*start.installer(Path(sys.executable), bundled=False), "--version"],
        capture_output=True,
        text=True,
        check=True,
    )
    assert version.stdout.startswith("pip ")


@pytest.mark.parametrize("size", [None, -1])
def test_a_damaged_or_missing_installer_is_refused(
    size: int | None, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    copy = tmp_path / start.OWN_PIP.name
    if size is not None:
        copy.write_bytes(start.OWN_PIP.read_bytes()[:size])
    monkeypatch.setattr(start, "OWN_PIP", copy)
    with pytest.raises(SystemExit, match="damaged"):
        start.installer(Path(sys.executable), bundled=False)


def test_an_environment_is_made_without_an_installer(tmp_path: Path) -> None:
    """The Python of some systems has no ensurepip."""
    python = make(tmp_path / "env")
    command = [*start.installer(python, bundled=False), "list"]
    result = subprocess.run(command, capture_output=True, text=True, check=True)
    assert "faintcall" not in result.stdout


def test_installed_packages_are_not_installed_again(
    tmp_path: Path, installation: FakeInstallation
) -> None:
    environment = tmp_path / "env"
    python = start.install(environment, extras="[test]")
    assert len(installation.commands) == 1
    assert start.install(environment, extras="[test]") == python
    assert len(installation.commands) == 1


def test_the_installation_shows_its_progress(
    tmp_path: Path, installation: FakeInstallation
) -> None:
    start.install(tmp_path / "env", extras="")
    (command,) = installation.commands
    assert not {"-q", "--quiet", "--progress-bar=off"} & set(command)


def test_another_pyproject_means_another_installation(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "pyproject.toml").write_text("one")
    monkeypatch.setattr(start, "ROOT", tmp_path)
    monkeypatch.setattr(start, "CONSTRAINTS", tmp_path / "constraints.txt")
    stamps = {start.stamp(tmp_path, "")}
    (tmp_path / "pyproject.toml").write_text("two")
    stamps.add(start.stamp(tmp_path, ""))
    (tmp_path / "constraints.txt").write_text("numpy==2.4.6")
    stamps.add(start.stamp(tmp_path, ""))
    assert len(stamps) == 3
    assert start.stamp(tmp_path, "[test]") != start.stamp(tmp_path, "")


def test_the_tested_versions_are_tried_first_and_then_the_newest(
    tmp_path: Path, installation: FakeInstallation, monkeypatch: pytest.MonkeyPatch
) -> None:
    installation.fails_with = "--constraint"
    start.install(tmp_path / "env", extras="")
    tested, newest = installation.commands
    assert tested[-4:] == ["--constraint", str(start.CONSTRAINTS), "--only-binary", ":all:"]
    assert newest == tested[:-4]
    monkeypatch.setattr(start, "CONSTRAINTS", tmp_path / "none")
    assert list(start.version_options()) == [[]]


def test_a_failed_installation_is_tried_again_in_the_same_environment(
    tmp_path: Path, installation: FakeInstallation
) -> None:
    installation.returncode = 1
    with pytest.raises(SystemExit, match="Run the command again"):
        start.install(tmp_path / "env", extras="")
    mark = tmp_path / "env" / "lib" / "kept"
    mark.touch()
    installation.returncode = 0
    start.install(tmp_path / "env", extras="")
    assert mark.exists()


def test_an_interrupted_installation_is_repeated(
    tmp_path: Path, installation: FakeInstallation, monkeypatch: pytest.MonkeyPatch
) -> None:
    """An interrupted installation can leave half of a package, which pip takes for installed."""
    environment = tmp_path / "env"
    run = subprocess.run

    def interrupt(command: list[str], **options: Any) -> Any:
        if "install" in command:
            raise KeyboardInterrupt
        return run(command, **options)

    with monkeypatch.context() as patch:
        patch.setattr("subprocess.run", interrupt)
        with pytest.raises(KeyboardInterrupt):
            start.install(environment, extras="")
    half = environment / "lib" / "half-a-package"
    half.touch()
    python = start.install(environment, extras="")
    assert not half.exists()
    assert runs(python)
    assert len(installation.commands) == 1


def test_ctrl_c_ends_in_one_line(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def interrupt(*_: object, **__: object) -> Path:
        raise KeyboardInterrupt

    monkeypatch.setattr(start, "install", interrupt)
    with pytest.raises(SystemExit) as caught:
        start.main([])
    assert caught.value.code == 130
    assert capsys.readouterr().err == "\nStopped. Run the same command again to continue.\n"


def break_link(environment: Path) -> None:
    """Remove the Python that the environment was made with."""
    python = start.python_in(environment)
    python.unlink()
    python.symlink_to(environment / "gone" / "python3.9")


def break_version(environment: Path) -> None:
    """Upgrade Python: the new one looks for its libraries in another folder."""
    (old,) = (environment / "lib").glob("python3.*")
    old.rename(old.with_name("python3.7"))


def break_creation(environment: Path) -> None:
    """Interrupt the creation before its description is written."""
    (environment / "pyvenv.cfg").unlink()
    shutil.rmtree(environment / "lib")


def break_python(environment: Path) -> None:
    """Damage the Python of the environment."""
    python = start.python_in(environment)
    python.unlink()
    python.write_text("#!/bin/sh\nexit 1\n")
    python.chmod(0o755)


@posix_only
@pytest.mark.parametrize("breakage", [break_link, break_version, break_creation, break_python])
@pytest.mark.parametrize("installed", [False, True])
def test_a_broken_environment_is_created_again(
    breakage: Any, installed: bool, tmp_path: Path, installation: FakeInstallation
) -> None:
    environment = tmp_path / "env"
    if installed:
        start.install(environment, extras="")
    else:
        make(environment)
    breakage(environment)
    installation.commands.clear()
    python = start.install(environment, extras="")
    assert runs(python)
    assert len(installation.commands) == 1


@posix_only
def test_a_moved_environment_is_created_again(
    tmp_path: Path, installation: FakeInstallation
) -> None:
    """Its commands and its link to the checkout contain the old path."""
    start.install(tmp_path / "old", extras="")
    (tmp_path / "old").rename(tmp_path / "new")
    installation.complete = False  # the probe finds faintcall at the old path
    installation.commands.clear()
    python = start.install(tmp_path / "new", extras="")
    assert runs(python)
    assert len(installation.commands) == 1


def test_the_probe_finds_this_checkout_complete_and_a_bare_environment_not(tmp_path: Path) -> None:
    bare = tmp_path / "env"
    make(bare)
    assert not start.is_complete(bare)
    assert start.is_complete(Path(sys.prefix))


def test_a_folder_that_is_not_an_environment_is_kept(
    tmp_path: Path, installation: FakeInstallation
) -> None:
    (tmp_path / "env").mkdir()
    (tmp_path / "env" / "letter.txt").write_text("mine")
    with pytest.raises(SystemExit, match="move it away"):
        start.install(tmp_path / "env", extras="")
    assert (tmp_path / "env" / "letter.txt").read_text() == "mine"
    assert not installation.commands


def test_an_installed_wheel_is_left_alone(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(start, "ROOT", tmp_path / "site-packages")
    monkeypatch.setattr(start, "install", lambda *_, **__: pytest.fail("installed"))
    assert start.main([]) == 2
    assert f"Start it with: {sys.executable} -m drill" in capsys.readouterr().err


def test_a_disk_error_is_reported_in_one_line(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def fail(*_: object, **__: object) -> Path:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(start, "install", fail)
    with pytest.raises(SystemExit, match=r"cannot be created: .*No space left on device"):
        start.main([])


def test_an_old_python_is_refused_with_the_version_needed(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("sys.version_info", (3, 10, 4))
    assert start.main([]) == 2
    assert "This is Python 3.10; faintcall needs 3.11 or newer." in capsys.readouterr().err


def test_only_the_tests_need_an_extra(monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[str] = []

    def note(_: Path, *, extras: str) -> Path:
        asked.append(extras)
        return Path("python")

    monkeypatch.setattr(start, "install", note)
    start.set_up(test=False)
    start.set_up(test=True)
    assert asked == ["", "[test]"]


@pytest.mark.parametrize("option", ["--help", "-h"])
def test_help_installs_nothing(
    option: str, installation: FakeInstallation, capsys: pytest.CaptureFixture[str]
) -> None:
    assert start.main([option]) == 0
    assert "python3 -m drill.start --test" in capsys.readouterr().out
    assert installation.commands == []
