from datetime import UTC, datetime
from pathlib import Path

import pytest

from drill.core.errors import AlreadyAnswered
from drill.items.plan import Plan
from drill.records.hunts import HUNT_MODE, HUNT_RESULT, StoredHuntEvent
from drill.records.store import Store

NOW = datetime(2026, 11, 27, 20, 0, tzinfo=UTC)


def test_events_come_back_in_order(tmp_path: Path) -> None:
    events = [StoredHuntEvent("act", {"at": n, "text": "æ"}) for n in range(12)]
    with Store(tmp_path / "record.sqlite3") as store:
        hunt = store.begin_session(Plan(seed=1), now=NOW, version="1", mode=HUNT_MODE)
        for number, event in enumerate(events):
            store.add_hunt_event(hunt, number, event)
    with Store(tmp_path / "record.sqlite3") as store:
        assert store.hunt_events(hunt) == events
        assert store.hunt_events(hunt, first=10) == events[10:]
        assert store.count_hunt_events(hunt) == 12
        assert [stored.result for stored in store.hunts()] == [None]
        store.add_hunt_event(hunt, 12, StoredHuntEvent(HUNT_RESULT, {"right": 3}))
        assert [stored.result for stored in store.hunts(identity=hunt)] == [{"right": 3}]
        assert list(store.hunts(identity="another")) == []
        assert store.sessions() == []  # hunts do not appear in lists of copying sessions
        assert store.contact_sessions() == []


def test_an_event_is_recorded_once(tmp_path: Path) -> None:
    with Store(tmp_path / "record.sqlite3") as store:
        hunt = store.begin_session(Plan(seed=1), now=NOW, version="1", mode=HUNT_MODE)
        store.add_hunt_event(hunt, 0, StoredHuntEvent("act", {"at": 1}))
        with pytest.raises(AlreadyAnswered):
            store.add_hunt_event(hunt, 0, StoredHuntEvent("act", {"at": 2}))
        assert store.hunt_events(hunt) == [StoredHuntEvent("act", {"at": 1})]


def test_the_newest_hunt_comes_first_and_can_be_deleted(tmp_path: Path) -> None:
    with Store(tmp_path / "record.sqlite3") as store:
        first, second = (
            store.begin_session(Plan(seed=1), now=NOW, version="1", mode=HUNT_MODE)
            for _ in range(2)
        )
        store.add_hunt_event(first, 0, StoredHuntEvent("act", {}))
        assert [stored.id for stored in store.hunts()] == [second, first]
        assert [stored.id for stored in store.hunts(1)] == [second]
        assert store.delete_session(first)
        assert [stored.id for stored in store.hunts()] == [second]
        assert store.hunt_events(first) == []
