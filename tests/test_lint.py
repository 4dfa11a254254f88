"""Checks of the source files: style, types, layers, dependencies, sizes, unique names."""

import ast
import subprocess
import sys
from collections import defaultdict
from graphlib import TopologicalSorter
from pathlib import Path

import grimp
import pytest

pytestmark = pytest.mark.lint

ROOT = Path(__file__).parents[1]
BIN = Path(sys.executable).parent
CHECKS = {
    "style": ["ruff", "check"],
    "format": ["ruff", "format", "--check"],
    "types": ["mypy"],
    "layers": ["lint-imports", "--no-cache"],
    "dependencies": ["deptry", "."],
}
MODULES = sorted(
    path for package in ("phonetics", "drill") for path in (ROOT / package).rglob("*.py")
)
MOST_LINES = {"module": 300, "function": 50}
SHARED_NAMES = {"add", "run", "main"}
"""Names that many modules define on purpose: the functions of every command and of every script."""


@pytest.mark.parametrize("name", CHECKS)
def test_check_passes(name: str) -> None:
    tool, *arguments = CHECKS[name]
    done = subprocess.run(
        [str(BIN / tool), *arguments], capture_output=True, text=True, check=False, cwd=ROOT
    )
    assert done.returncode == 0, done.stdout + done.stderr


def test_no_modules_import_each_other_in_a_circle() -> None:
    graph = grimp.build_graph("drill", "phonetics", cache_dir=None)
    imports = {module: graph.find_modules_directly_imported_by(module) for module in graph.modules}
    TopologicalSorter(imports).prepare()  # raises CycleError with the modules of the circle


def test_modules_and_functions_are_short() -> None:
    too_long = []
    for path in MODULES:
        text = path.read_text("utf-8")
        sizes = [("module", path.name, len(text.splitlines()))]
        for node in ast.walk(ast.parse(text)):
            if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
                assert node.end_lineno is not None
                sizes.append(("function", node.name, node.end_lineno - node.lineno + 1))
        too_long += [
            f"{path.relative_to(ROOT)}: {kind} {name} has {lines} lines"
            for kind, name, lines in sizes
            if lines > MOST_LINES[kind]
        ]
    assert not too_long, "\n".join(too_long)


def test_public_names_are_unique() -> None:
    """A reader who meets a name knows which one it is; see SHARED_NAMES for the exceptions."""
    homes = defaultdict(set)
    for path in MODULES:
        for name in public_definitions(ast.parse(path.read_text("utf-8"))):
            homes[name].add(str(path.relative_to(ROOT)))
    twice = {
        name: sorted(paths)
        for name, paths in homes.items()
        if len(paths) > 1 and name not in SHARED_NAMES
    }
    assert not twice


def public_definitions(tree: ast.Module) -> set[str]:
    """Return the names of the public functions and classes that a module defines."""
    kinds = ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef
    return {
        node.name for node in tree.body if isinstance(node, kinds) and not node.name.startswith("_")
    }
