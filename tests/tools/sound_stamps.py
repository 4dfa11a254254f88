"""Stamps (hashes) of the code that determines the samples of each engine, for the version test.

The cache key contains a `sound_version` that has to be increased when a change of the code changes
the samples. A stamp changes with the code, but not with comments, docstrings, annotations, error
messages, imports or the code's own names. tests/drill/voices/test_sound_versions.py compares it
with the recorded one and asks the author of the change to decide. Record the new stamps with:
python -m tests.tools.sound_stamps
"""

import ast
import hashlib
import tomllib
from collections.abc import Callable, Iterator
from pathlib import Path

from drill import voices
from drill.voices.cache import EFFECTS_VERSION

ROOT = Path(__file__).parents[2]
RECORD = ROOT / "tests" / "measured" / "sound_stamps.toml"
HEAD = """# The version of each engine and the stamp of its code: see tests/tools/sound_stamps.py.
# Made by: python -m tests.tools.sound_stamps
"""
_ENGINES = "drill/voices/engines"
SOURCES = {
    "natural": (f"{_ENGINES}/natural/*.py", f"{_ENGINES}/chunks.py"),
    "studio": (
        f"{_ENGINES}/studio/*.py",
        f"{_ENGINES}/chunks.py",
        f"{_ENGINES}/natural/pronounce.py",
    ),
    "formant": (f"{_ENGINES}/formant/*.py",),
    "system": (f"{_ENGINES}/system/*.py",),
    "effects": ("drill/voices/effects/*.py", "drill/voices/people/styles.py"),
}
"""The modules that determine the samples of each cached engine, and of the effects."""
_OWN_PACKAGES = ("drill.", "phonetics.")
_IGNORED_FIELDS = {"annotation", "returns", "type_comment", "type_params", "kind", "ctx"}


def current_version(part: str) -> int:
    """Return the version in the code: sound_version of an engine, or EFFECTS_VERSION."""
    return EFFECTS_VERSION if part == "effects" else voices.find_engine(part).sound_version


def current_stamp(part: str) -> str:
    """Return the stamp of the modules of an engine or of the effects."""
    paths = sorted(path for pattern in SOURCES[part] for path in ROOT.glob(pattern))
    stamps = [f"{path.name} {stamp_of_source(path.read_text('utf-8'))}" for path in paths]
    return _digest("\n".join(stamps))


def stamp_of_source(source: str) -> str:
    """Return the stamp of one module's source."""
    tree = ast.parse(source)
    own_names = _own_names(tree)
    numbers: dict[str, str] = {}

    def neutral(name: str) -> str:
        """Replace the project's names by numbers in order of appearance; keep other names."""
        return numbers.setdefault(name, f"name{len(numbers)}") if name in own_names else name

    return _digest("\n".join(_tokens(tree, neutral)))


def _own_names(tree: ast.Module) -> set[str]:
    """Return the names that a module defines or imports from this project."""
    names: set[str] = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef | ast.ClassDef):
            names.add(node.name)
        elif isinstance(node, ast.arg):
            names.add(node.arg)
        elif isinstance(node, ast.ImportFrom) and str(node.module).startswith(_OWN_PACKAGES):
            names |= {alias.asname or alias.name for alias in node.names}
        elif isinstance(node, ast.Name) and isinstance(node.ctx, ast.Store):
            names.add(node.id)
        elif isinstance(node, ast.Attribute) and isinstance(node.ctx, ast.Store):
            names.add(node.attr)
    return names


def _tokens(node: ast.AST, neutral: Callable[[str], str]) -> Iterator[str]:
    """Yield the parts of a syntax tree, except those that cannot change the samples."""
    if isinstance(node, ast.Import | ast.ImportFrom):
        return
    if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant):
        return  # a docstring
    yield type(node).__name__
    if isinstance(node, ast.Raise):
        return  # an error message
    for field, value in ast.iter_fields(node):
        if field in _IGNORED_FIELDS:
            continue
        for part in value if isinstance(value, list) else [value]:
            if isinstance(part, ast.AST):
                yield from _tokens(part, neutral)
            elif isinstance(part, str) and not isinstance(node, ast.Constant):
                yield neutral(part)
            elif part is not None:
                yield repr(part)
    yield "end"


def _digest(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()[:16]


def recorded_stamps() -> dict[str, dict[str, int | str]]:
    """Return the recorded version and stamp of each engine."""
    return tomllib.loads(RECORD.read_text("utf-8"))


def main() -> None:
    """Record the versions and stamps of the code as it is."""
    tables = [
        f'\n[{part}]\nsound_version = {current_version(part)}\nstamp = "{current_stamp(part)}"\n'
        for part in SOURCES
    ]
    RECORD.write_text(HEAD + "".join(tables), "utf-8")


if __name__ == "__main__":
    main()
