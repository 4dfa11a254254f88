"""Fixtures shared by all tests: home folders, so that no test uses the user's record or cache."""

import os
import signal
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import settings

# Without a deadline, so that a busy machine does not fail a property.
settings.register_profile("no-deadline", deadline=None)
settings.load_profile("no-deadline")

# The suite runs one process per core; more threads would compete with them.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

# In a background job SIGINT is ignored, and every child process would inherit that.
if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:
    signal.signal(signal.SIGINT, signal.default_int_handler)


@pytest.fixture(scope="session", autouse=True)
def session_home(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """Give the whole test run one home folder, so that it shares cached speech."""
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
    """Give one test an empty home folder."""
    monkeypatch.setenv("FAINTCALL_HOME", str(tmp_path / "home"))
    return tmp_path / "home"
