"""The page's scripts, checked by the TypeScript compiler with the settings in tests/web/js."""

import os
import shutil
import subprocess
from pathlib import Path

import pytest

FOLDER = Path(__file__).parent / "js"
SCRIPTS = Path(__file__).parents[2] / "drill" / "web" / "static"


@pytest.mark.lint
def test_scripts_pass_the_typescript_compiler() -> None:
    """Installs the pinned compiler on the first run; needs Node.js, which is required in CI."""
    npm = shutil.which("npm")
    if npm is None:
        (pytest.fail if os.environ.get("CI") else pytest.skip)("no Node.js on this computer")
    if not (FOLDER / "node_modules").exists():
        subprocess.run([npm, "ci", "--no-audit", "--no-fund"], cwd=FOLDER, check=True)
    done = subprocess.run(
        [npm, "exec", "--", "tsc", "-p", "."],
        cwd=FOLDER,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stdout + done.stderr


def test_every_script_asks_for_the_check() -> None:
    """Editors read the first line; the compiler checks all scripts in any case."""
    for path in SCRIPTS.glob("*.js"):
        assert path.read_text("utf-8").startswith("// @ts-check\n"), path.name
