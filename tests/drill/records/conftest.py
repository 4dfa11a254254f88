"""Fixtures of the tests of the record."""

from pathlib import Path

import pytest

from tests.drill.records.attempts import fill_record


@pytest.fixture
def record_path(tmp_path: Path) -> Path:
    """Return a path in a folder that does not exist yet."""
    return tmp_path / "folder" / "record.sqlite3"


@pytest.fixture
def filled_record(home: Path) -> tuple[str, str]:
    """Fill the record of the test's own home; return the ids of its two sessions."""
    return fill_record()
