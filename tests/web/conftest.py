"""Fixtures of the tests of the server."""

from pathlib import Path

import pytest
from starlette.testclient import TestClient

from tests.web.client import disable_prefetch, logged_in_client


@pytest.fixture
def client(home: Path, monkeypatch: pytest.MonkeyPatch) -> TestClient:
    """A logged-in client of a server with an empty record and without prefetching."""
    disable_prefetch(monkeypatch)
    return logged_in_client()
