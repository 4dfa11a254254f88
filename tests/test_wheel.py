"""The wheel: it holds the product and nothing else, and every command runs from it.

The commands run in a fresh environment, outside the checkout, with their own home folder.
"""

import os
import subprocess
import sys
import venv
import zipfile
from pathlib import Path

import pytest

from drill.cli import COMMANDS
from drill.start import python_in

pytestmark = pytest.mark.slow

ROOT = Path(__file__).parents[1]
DATA = {".css", ".html", ".js", ".md", ".npy", ".onnx", ".svg", ".toml", ".tsv", ".txt", ".woff2"}
MOST_BYTES = 12_000_000
RUNS: dict[str, tuple[str, ...]] = {
    "copy": ("copy", "--items", "1", "--seed", "1", "--voices", "tin", "--audio-to", "copy"),
    "speak": ("speak", "--list"),
    "listen": ("listen", "--voices", "tin", "--seed", "1", "--audio-to", "listen"),
    "render": ("render", "--items", "2", "--seed", "1", "--voices", "tin", "--to", "set"),
    "budget": ("budget", "--watts", "5"),
    "history": ("history",),
    "export": ("export", "record.csv"),
    "import": ("import", "record.csv"),
    "report": ("report", "--to", "report"),
    "choices": ("choices",),
    "voices": ("voices",),
    "help": ("help", "snr"),
}
"""Commands that finish by themselves; every other command shows its help."""


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("wheel")
    subprocess.run(
        [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(folder)],
        check=True,
        cwd=ROOT,
        capture_output=True,
    )
    (path,) = folder.glob("*.whl")
    return path


@pytest.fixture(scope="module")
def installed(wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Give the command of a fresh environment that holds the wheel and what it requires."""
    folder = tmp_path_factory.mktemp("environment")
    venv.create(folder, with_pip=True)
    python = python_in(folder)
    pip = [str(python), "-m", "pip", "install", "--quiet", "--disable-pip-version-check"]
    subprocess.run([*pip, str(wheel)], check=True)
    return python.with_name("faintcall")


def test_the_wheel_holds_the_product_alone(wheel: Path) -> None:
    names = zipfile.ZipFile(wheel).namelist()
    info = {name for name in names if ".dist-info/" in name}
    packages = set(names) - info
    assert {name.partition("/")[0] for name in packages} == {"drill", "phonetics"}
    assert "drill/start.py" not in packages
    assert {Path(name).suffix for name in packages} - {""} <= DATA | {
        ".py",
        ".typed",
        ".kokoro",
    }  # LICENSE.kokoro
    assert any(name.endswith("licenses/LICENSE") for name in info)
    assert wheel.stat().st_size < MOST_BYTES


def test_the_wheel_holds_every_file_of_the_packages(wheel: Path) -> None:
    tracked = subprocess.run(
        ["git", "ls-files", "drill", "phonetics"],
        capture_output=True,
        text=True,
        check=True,
        cwd=ROOT,
    ).stdout.split()
    assert set(tracked) - {"drill/start.py"} <= set(zipfile.ZipFile(wheel).namelist())


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_runs_from_the_wheel(
    command: str, installed: Path, tmp_path_factory: pytest.TempPathFactory
) -> None:
    folder = tmp_path_factory.getbasetemp() / "wheel-home"
    folder.mkdir(exist_ok=True)
    environment = {name: value for name, value in os.environ.items() if name != "PYTHONPATH"}
    done = subprocess.run(
        [str(installed), *RUNS.get(command, (command, "--help"))],
        input="\nE8ABC\n\n",
        capture_output=True,
        text=True,
        check=False,
        cwd=folder,
        env={**environment, "FAINTCALL_HOME": str(folder / "home")},
        timeout=300,
    )
    assert done.returncode == 0, done.stdout + done.stderr
    assert "Traceback" not in done.stderr
