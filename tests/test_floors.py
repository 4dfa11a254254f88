"""The house keeps its floors: imports point down only, and the door opens quickly."""

import ast
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
# From the ground up; a module may import from its own floor and from those below it.
FLOORS = (
    ("phonetics",),
    (
        "drill.errors",
        "drill.plugins",
        "drill.signals",
        "drill.folders",
        "drill.conditions",
        "drill.items",
        "drill.__init__",
    ),
    (
        "drill.voices",
        "drill.radio",
        "drill.scoring",
        "drill.threshold",
        "drill.audiofile",
        "drill.listener",
    ),
    (
        "drill.plan",
        "drill.mixes",
        "drill.learning",
        "drill.logs",
        "drill.render",
        "drill.ahead",
        "drill.speaking",
    ),
    (
        "drill.records",
        "drill.sheet",
        "drill.sets",
        "drill.practice",
        "drill.picture",
        "drill.selfcheck",
        "drill.evidence",
        "drill.weak",
        "drill.courses",
        "drill.measuring",
        "drill.report",
        "drill.choosing",
        "drill.standing",
        "drill.outcome",
        "drill.listening",
        "drill.budgeting",
        "drill.offers",
        "drill.settings",
    ),
    (
        "drill.sound",
        "drill.microphone",
        "drill.cli",
        "drill.web",
        "drill.start",
        "drill.__main__",
    ),
)


def module_name(path: Path) -> str:
    parts = path.relative_to(ROOT).with_suffix("").parts
    return ".".join(parts)


def floor(module: str) -> int:
    for number, names in enumerate(FLOORS):
        if any(module == name or module.startswith(name + ".") for name in names):
            return number
    if module in ("drill", "drill.__init__"):
        return 1
    raise AssertionError(f"{module} stands on no floor; add it to FLOORS")


def imports(tree: ast.AST) -> set[str]:
    """Return the modules of this house that a tree imports, inside functions too."""
    found: set[str] = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            found.add(node.module)
            if node.module == "drill":
                found |= {f"drill.{alias.name}" for alias in node.names if alias.name[0] != "_"}
    return {name for name in found if name.split(".")[0] in ("drill", "phonetics")}


MODULES = sorted(p for package in ("phonetics", "drill") for p in (ROOT / package).rglob("*.py"))


@pytest.mark.parametrize("path", MODULES, ids=module_name)
def test_imports_point_down(path: Path) -> None:
    here = floor(module_name(path))
    for name in imports(ast.parse(path.read_text("utf-8"))):
        assert floor(name) <= here, f"{module_name(path)} imports {name} from a floor above it"


def test_an_import_that_points_up_is_found() -> None:
    tree = ast.parse("def f():\n    from drill.cli import main\n    from drill import practice")
    assert max(floor(name) for name in imports(tree)) == 5


@pytest.mark.parametrize("path", sorted((ROOT / "phonetics").rglob("*.py")), ids=module_name)
def test_phonetics_needs_the_standard_library_alone(path: Path) -> None:
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


def test_only_two_modules_touch_the_sound_card() -> None:
    users = [p for p in MODULES if "import sounddevice" in p.read_text("utf-8")]
    assert users == [ROOT / "drill" / "microphone.py", ROOT / "drill" / "sound.py"]


def test_only_the_page_touches_the_server() -> None:
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


@pytest.mark.parametrize(
    "words",
    [
        "--help",
        "page --help",
        "copy --help",
        "measure --help",
        "export --help",
        "learn-mix --help",
        "record-words --help",
        "voices --help",
        "speak --help",
        "--version",
    ],
)
def test_help_loads_nothing_heavy(words: str) -> None:
    code = (
        "import sys\n"
        "from drill.cli import main\n"
        "try:\n"
        f"    main({words.split()!r})\n"
        "except SystemExit:\n"
        "    pass\n"
        "heavy = {'numpy', 'scipy', 'sounddevice', 'soundfile', 'onnx', 'hibari', 'matplotlib',"
        "'pyarrow', 'adif_io', 'cabrillo', 'jinja2', 'tqdm', 'pocketsphinx', 'pystoi',"
        "'starlette', 'uvicorn', 'asyncio'}\n"
        "print(sorted(heavy & set(sys.modules)), file=sys.stderr)\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=ROOT
    )
    assert done.stderr.strip() == "[]"
