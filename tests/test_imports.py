"""Which packages may import which library, and what `faintcall --help` loads."""

import ast
import subprocess
import sys
from pathlib import Path

import pytest

from drill.cli import COMMANDS

ROOT = Path(__file__).parents[1]


def module_name(path: Path) -> str:
    return ".".join(path.relative_to(ROOT).with_suffix("").parts)


MODULES = sorted(p for package in ("phonetics", "drill") for p in (ROOT / package).rglob("*.py"))


@pytest.mark.parametrize("path", sorted((ROOT / "phonetics").rglob("*.py")), ids=module_name)
def test_phonetics_imports_only_the_standard_library(path: Path) -> None:
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        names = (
            [alias.name for alias in node.names]
            if isinstance(node, ast.Import)
            else [node.module or ""]
            if isinstance(node, ast.ImportFrom) and not node.level
            else []
        )
        for name in names:
            top = name.split(".")[0]
            assert top == "phonetics" or top in sys.stdlib_module_names, f"{path} imports {name}"


def test_only_one_module_imports_the_sound_library() -> None:
    users = [p for p in MODULES if "import sounddevice" in p.read_text("utf-8")]
    assert users == [ROOT / "drill/devices/portaudio.py"]


def test_only_the_page_imports_the_server_libraries() -> None:
    users = {
        p.relative_to(ROOT).parts[:2]
        for p in MODULES
        if {"starlette", "uvicorn"} & {line.split()[1].split(".")[0] for line in imported(p)}
    }
    assert users == {("drill", "web")}


def imported(path: Path) -> list[str]:
    """Return the lines of a file that import something."""
    lines = [line.strip() for line in path.read_text("utf-8").splitlines()]
    return [line for line in lines if line.startswith(("import ", "from ")) and " " in line]


HEAVY = {
    "hibari",
    "matplotlib",
    "onnx",
    "onnxruntime",
    "pocketsphinx",
    "pyarrow",
    "pyttsx3",
    "scipy.signal",
    "sounddevice",
    "soundfile",
    "starlette",
    "uvicorn",
}
"""Libraries that take long to import; the functions that need them import them."""
LIGHT = HEAVY | {"numpy", "scipy", "jinja2", "tqdm", "asyncio", "drill.core.models"}
"""Modules that printing the list of commands does not need."""


@pytest.mark.parametrize(
    ("calls", "forbidden"),
    [
        ([["--help"], ["--version"], ["help"]], LIGHT),
        ([[command, "--help"] for command in COMMANDS], HEAVY),
    ],
    ids=["list of commands", "help of each command"],
)
def test_help_loads_nothing_heavy(calls: list[list[str]], forbidden: set[str]) -> None:
    """All calls share one process, so a library that one of them loads stays loaded."""
    code = (
        "import sys\n"
        "from drill.cli import main\n"
        f"for words in {calls!r}:\n"
        "    try:\n"
        "        main(words)\n"
        "    except SystemExit:\n"
        "        pass\n"
        f"    if loaded := sorted({forbidden!r} & set(sys.modules)):\n"
        "        sys.exit(f'{words} loads {loaded}')\n"
        "print('nothing', file=sys.stderr)\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=False, cwd=ROOT
    )
    assert done.stderr.strip() == "nothing"


SLOW = {
    "drill.itemsets",
    "drill.recogniser",
    "drill.records.reading",
    "drill.report",
    "drill.voices.engines.studio.engine",
    "drill.voices.wordbank.engine",
    "jinja2",
    "matplotlib",
    "onnxruntime",
    "scipy.ndimage",
    "scipy.optimize",
    "scipy.signal",
    "scipy.stats",
    "starlette",
    "tqdm",
}
"""Modules that the first sound does not need."""


@pytest.mark.parametrize(
    ("engine", "slow"),
    [("formant", SLOW | {"scipy"}), ("natural", SLOW)],
    ids=["formant", "natural"],
)
def test_the_first_sound_needs_no_slow_import(tmp_path: Path, engine: str, slow: set[str]) -> None:
    words = ["copy", "--items", "1", "--seed", "1", "--voices", engine, "--audio-to"]
    code = (
        "import sys\n"
        "from drill.cli import main\n"
        f"main({[*words, str(tmp_path)]!r})\n"
        f"print(sorted({slow!r} & set(sys.modules)), file=sys.stderr)\n"
    )
    # The one line of input confirms the caution; the input ends before the first item is answered.
    done = subprocess.run(
        [sys.executable, "-c", code], input="\n", capture_output=True, text=True, check=True
    )
    assert list(tmp_path.glob("item-001.*"))
    assert done.stderr.strip() == "[]"
