"""Every required package missing in turn: the command names it and how to install it here."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

pytestmark = pytest.mark.slow

BLOCKED = """
import sys

class Missing:
    def find_spec(self, name, path=None, target=None):
        if name.partition(".")[0] == {module!r}:
            raise ModuleNotFoundError(f"No module named {{name!r}}", name=name)

sys.meta_path.insert(0, Missing())
from drill.cli import main
sys.exit(main({words!r}))
"""
LOG = "<call:5>E87AB <eor>\n"


def run_without(module: str, words: list[str], home: Path) -> subprocess.CompletedProcess[str]:
    """Run a command in a Python that has no such module."""
    return subprocess.run(
        [sys.executable, "-c", BLOCKED.format(module=module, words=words)],
        input="\n",
        capture_output=True,
        text=True,
        check=False,
        timeout=240,
        cwd=home,
        env={
            **os.environ,
            "FAINTCALL_HOME": str(home),
            "PYTHONPATH": str(Path(__file__).parents[3]),
        },
    )


TIN = ("--voices", "tin", "--seed", "1")
ITEM = ("--items", "1", *TIN)
NATURAL = ("--items", "1", "--voices", "willow", "--seed", "1")
"""An item by a natural voice: a formant voice needs no SciPy for its first item."""


@pytest.mark.parametrize(
    ("module", "package", "words"),
    [
        ("matplotlib", "matplotlib", ("listen", *TIN, "--picture", "p.png", "--audio-to", "s")),
        ("sounddevice", "sounddevice", ("copy", *ITEM)),
        ("sounddevice", "sounddevice", ("speak", "--call", "E87ABC")),
        ("soundfile", "soundfile", ("copy", *ITEM, "--audio-to", "sounds")),
        ("soundfile", "soundfile", ("render", *ITEM, "--to", "set")),
        ("jinja2", "jinja2", ("page", "--no-browser")),
        ("jinja2", "jinja2", ("render", *ITEM, "--to", "set")),
        ("starlette", "starlette", ("page", "--no-browser")),
        ("uvicorn", "uvicorn", ("page", "--no-browser")),
        ("markdown_it", "markdown-it-py", ("page", "--no-browser")),
        ("adif_io", "adif-io", ("learn-mix", "log.adi")),
        ("cabrillo", "cabrillo", ("learn-mix", "log.adi")),
        ("tqdm", "tqdm", ("render", *ITEM, "--to", "set")),
        ("platformdirs", "platformdirs", ("history",)),
        ("numpy", "numpy", ("copy", *ITEM)),
        ("scipy", "scipy", ("copy", *NATURAL, "--audio-to", "sounds")),
        ("pystoi", "pystoi", ("selfcheck",)),
    ],
)
def test_a_missing_package_is_named_with_its_remedy(
    module: str, package: str, words: tuple[str, ...], tmp_path: Path
) -> None:
    (tmp_path / "log.adi").write_text(LOG)
    result = run_without(module, list(words), tmp_path)
    assert result.returncode == 1, result.stdout + result.stderr
    message = result.stderr.splitlines()[-1]
    assert message.startswith("faintcall: ")
    assert f"the Python package {package} is missing; install it with: {sys.executable}" in message
    assert "Traceback" not in result.stderr


@pytest.mark.parametrize("module", ["matplotlib", "starlette", "pystoi", "adif_io", "pocketsphinx"])
def test_commands_that_do_not_need_the_package_still_work(module: str, tmp_path: Path) -> None:
    result = run_without(module, ["copy", *ITEM, "--audio-to", "sounds"], tmp_path)
    assert result.returncode == 0, result.stderr
    assert (tmp_path / "sounds" / "item-001.wav").exists()


def test_without_the_sound_package_files_are_offered(tmp_path: Path) -> None:
    result = run_without("sounddevice", ["copy", *ITEM], tmp_path)
    assert result.stderr.rstrip().endswith("; or write each item to a file with --audio-to DIR")
