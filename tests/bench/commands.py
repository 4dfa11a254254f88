"""CPU time of whole commands of faintcall, of this checkout or of another one."""

import os
import resource
import subprocess
import sys
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from tempfile import mkdtemp

ROOT = Path(__file__).parents[2]


@dataclass(frozen=True)
class Checkout:
    """A folder with the source of faintcall, and its entry points as an installed package has them.

    metadata: the folder that holds them, first on the path, so that Python does not take those of
    the checkout that is installed.
    """

    folder: Path
    metadata: Path

    def cpu_s(self, words: Sequence[str], home: Path, *, typed: str = "") -> float:
        """Return the CPU time in seconds of a command and of all processes that it waited for.

        words: the arguments after `faintcall`. home: folder of its record and cache. typed: its
        standard input.
        Raises: RuntimeError if a command without input fails; with input, it may fail when the
        input ends.
        """
        environment = {
            **os.environ,
            "FAINTCALL_HOME": str(home),
            "PYTHONPATH": os.pathsep.join([str(self.metadata), str(self.folder)]),
        }
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        done = subprocess.run(
            [sys.executable, "-m", "drill", *words],
            input=typed,
            capture_output=True,
            text=True,
            check=False,
            cwd=self.folder,
            env=environment,
        )
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
        if done.returncode and not typed:
            raise RuntimeError(f"faintcall {' '.join(words)}: {done.stderr}")
        return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def make_checkout(folder: Path, scratch: Path) -> Checkout:
    """Return a checkout; its entry points are written into a new folder below scratch."""
    project = tomllib.loads((folder / "pyproject.toml").read_text("utf-8"))["project"]
    metadata = Path(mkdtemp(dir=scratch))
    package = metadata / "faintcall-0.dist-info"
    package.mkdir()
    (package / "METADATA").write_text("Metadata-Version: 2.1\nName: faintcall\nVersion: 0\n")
    lines = []
    for group, entries in project["entry-points"].items():
        lines += [f"[{group}]", *(f"{name} = {place}" for name, place in entries.items())]
    (package / "entry_points.txt").write_text("\n".join(lines))
    return Checkout(folder=folder, metadata=metadata)


def start_s(tree: Checkout, scratch: Path, operator: str) -> float:
    """Return the CPU time in seconds from the start of the program to an operator's first sound."""
    home = Path(mkdtemp(dir=scratch))
    words = ["copy", "--items", "1", "--seed", "1", "--voices", operator]
    words += ["--audio-to", str(home / "sounds")]
    seconds = tree.cpu_s(words, home, typed="\n")  # confirms the caution; then the input ends
    if not list((home / "sounds").iterdir()):
        raise RuntimeError(f"{tree.folder} rendered no item")
    return seconds


def set_s(tree: Checkout, scratch: Path, items: int) -> float:
    """Return the CPU time in seconds of rendering a set of items."""
    home = Path(mkdtemp(dir=scratch))
    words = ["render", "--to", str(home / "set"), "--items", str(items), "--seed", "1"]
    return tree.cpu_s(words, home)


def import_s(tree: Checkout, scratch: Path, export: Path) -> tuple[float, Path]:
    """Return the CPU time in seconds of importing a file, and the home with the new record."""
    home = Path(mkdtemp(dir=scratch))
    return tree.cpu_s(["import", str(export)], home), home


def report_s(tree: Checkout, home: Path) -> float:
    """Return the CPU time in seconds of a report on the record of a home."""
    return tree.cpu_s(["report", "--to", str(home / "report")], home)
