"""/api/cautions."""

from starlette.testclient import TestClient

from drill.core.paths import record_file
from drill.records.store import Store


def test_confirmed_caution_is_stored_in_the_record(client: TestClient) -> None:
    """The terminal reads the same entry, so the caution is confirmed once for both."""
    assert client.get("/api/cautions").json() == {"hearing": False}
    assert client.post("/api/cautions", json={"hearing": False}).json() == {"hearing": False}
    assert client.post("/api/cautions", json={"hearing": True}).json() == {"hearing": True}
    with Store(record_file()) as store:
        assert store.has_seen("hearing")
