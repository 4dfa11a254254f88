"""What all tests share: a home of their own, so that no test sees the user's records or cache."""

import os
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import settings

# A busy machine must not fail a property: no example has a time limit.
settings.register_profile("no-deadline", deadline=None)
settings.load_profile("no-deadline")

# As the command line does: the suite runs a process a core, more threads get in each other's way.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")


@pytest.fixture(scope="session", autouse=True)
def session_home(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """Give the session one folder; its speech cache is shared, so that voices speak once."""
    home = tmp_path_factory.mktemp("home")
    before = os.environ.get("FAINTCALL_HOME")
    os.environ["FAINTCALL_HOME"] = str(home)
    yield home
    if before is None:
        del os.environ["FAINTCALL_HOME"]
    else:
        os.environ["FAINTCALL_HOME"] = before


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Give one test an empty home."""
    monkeypatch.setenv("FAINTCALL_HOME", str(tmp_path / "home"))
    return tmp_path / "home"
