"""Lint, format and types are part of the suite, so that one command says whether all is well."""

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
CHECKS = {
    "lint": ["ruff", "check"],
    "format": ["ruff", "format", "--check"],
    "types": ["mypy"],
}


@pytest.mark.parametrize("name", CHECKS)
def test_check_passes(name: str) -> None:
    done = subprocess.run(
        [sys.executable, "-m", *CHECKS[name]], capture_output=True, text=True, check=False, cwd=ROOT
    )
    assert done.returncode == 0, done.stdout + done.stderr
