"""Install commands work on the machine that prints them; missing packages are named."""

import subprocess
import sys
import venv
from importlib.metadata import requires
from pathlib import Path

import pytest

from drill.core import packages
from drill.core.packages import (
    PackageMissing,
    install_remedy,
    missing_package,
    pip_install_command,
    requirement_of,
)
from drill.start import python_in


def test_the_install_command_uses_this_python() -> None:
    command = pip_install_command("pyarrow", "G722")
    assert command == f"{sys.executable} -m pip install pyarrow G722"


def test_requirements_are_quoted_for_the_shell(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(packages.sys, "executable", "/my folder/python")  # type: ignore[attr-defined]
    command = pip_install_command("adif-io>=0.6.1,<0.7")
    assert command == "'/my folder/python' -m pip install 'adif-io>=0.6.1,<0.7'"


@pytest.mark.skipif(sys.platform == "win32", reason="uses a shell of POSIX")
@pytest.mark.slow
def test_the_command_works_in_an_environment_without_pip(tmp_path: Path) -> None:
    """Some systems have no ensurepip; the command then uses the pip that the checkout ships."""
    venv.create(tmp_path / "env", with_pip=False)
    python = python_in(tmp_path / "env")
    code = "from drill.core.packages import pip_install_command as p; print(p('--help'))"
    root = str(Path(__file__).parents[3])
    command = subprocess.run(
        [str(python), "-c", f"import sys; sys.path.insert(0, {root!r}); {code}"],
        capture_output=True,
        text=True,
        check=True,
        cwd=tmp_path,
    ).stdout
    assert command.startswith(str(python))
    result = subprocess.run(command, shell=True, capture_output=True, text=True, check=False)
    assert result.returncode == 0, result.stderr
    assert "pip install" in result.stdout


@pytest.mark.parametrize(
    ("tools", "start"),
    [
        (("uv",), f"uv pip install --python {sys.executable} x"),
        (("pip",), f"pip --python {sys.executable} install x"),
        (("pip3",), f"pip3 --python {sys.executable} install x"),
        ((), f"{sys.executable} -m ensurepip && {sys.executable} -m pip install x"),
    ],
)
def test_without_pip_and_checkout_the_command_uses_another_tool(
    tools: tuple[str, ...], start: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(packages, "CHECKOUT", tmp_path)
    monkeypatch.setattr("importlib.util.find_spec", lambda _: None)
    monkeypatch.setattr("shutil.which", lambda name: name if name in tools else None)
    assert pip_install_command("x") == start


def test_a_missing_package_is_named_as_it_is_installed() -> None:
    error = missing_package(ModuleNotFoundError("No module", name="adif_io.sub"))
    assert isinstance(error, PackageMissing)
    assert "the Python package adif-io is missing" in str(error)
    assert "pip install 'adif-io<0.7,>=0.6.1'" in str(error).replace(">=0.6.1,<0.7", "<0.7,>=0.6.1")
    broken = missing_package(ImportError("libx.so: cannot open\nmore", name="scipy.linalg"))
    assert "the Python package scipy cannot be loaded (libx.so: cannot open)" in str(broken)


def test_a_module_of_faintcall_itself_is_a_bug() -> None:
    assert missing_package(ModuleNotFoundError("No module", name="drill.nothing")) is None
    assert missing_package(ImportError("cannot import name 'x'")) is None


def test_requirements_are_those_of_the_metadata() -> None:
    lines = requires("faintcall") or []
    assert lines
    assert requirement_of("Adif.IO") in lines
    assert requirement_of("no-such-package") == "no-such-package"


def test_an_externally_managed_python_starts_faintcall_in_its_own_environment(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Source: PEP 668; Debian and Ubuntu mark their Python so, and pip refuses."""
    monkeypatch.setattr(packages, "is_externally_managed", lambda: True)
    assert install_remedy("numpy").endswith(
        f"start faintcall with: {sys.executable} -m drill.start"
    )
