"""Fixtures of the tests of commands."""

from datetime import UTC, datetime
from pathlib import Path

import pytest

from drill.core.paths import record_file
from drill.records.store import Store


@pytest.fixture
def sounds(home: Path, tmp_path: Path) -> Path:
    """Return a folder for sounds; the caution is confirmed."""
    with Store(record_file()) as store:
        store.set_seen("hearing", now=datetime.now(UTC))
    return tmp_path / "sounds"
