from datetime import UTC, datetime
from pathlib import Path

import pytest

from drill.core.errors import AlreadyAnswered
from drill.items.plan import Plan
from drill.records.contacts import CONTACT_MODE, ContactEvent
from drill.records.store import Store

NOW = datetime(2026, 11, 27, 20, 0, tzinfo=UTC)


def test_events_come_back_in_order(tmp_path: Path) -> None:
    with Store(tmp_path / "record.sqlite3") as store:
        session = store.begin_session(Plan(seed=1), now=NOW, version="1", mode=CONTACT_MODE)
        events = [ContactEvent("act", {"at": n, "text": "æ"}) for n in range(3)]
        for number, event in enumerate(events):
            store.add_contact_event(session, 0, number, event)
        store.add_contact_event(session, 0, 3, ContactEvent("result", {"right": True}))
    with Store(tmp_path / "record.sqlite3") as store:
        assert store.contact_events(session, 0)[:3] == events
        assert store.contact_events(session, 1) == []
        assert [row.result for row in store.contact_results()] == [{"right": True}]
        assert [row.result for row in store.contact_results(session)] == [{"right": True}]
        assert list(store.contact_results("another")) == []
        stored = store.contact_sessions()
        assert [(entry.id, entry.finished) for entry in stored] == [(session, 1)]
        assert store.sessions() == []  # contacts do not appear in lists of copying sessions


def test_an_event_is_recorded_once(tmp_path: Path) -> None:
    with Store(tmp_path / "record.sqlite3") as store:
        session = store.begin_session(Plan(seed=1), now=NOW, version="1", mode=CONTACT_MODE)
        store.add_contact_event(session, 0, 0, ContactEvent("act", {}))
        with pytest.raises(AlreadyAnswered):
            store.add_contact_event(session, 0, 0, ContactEvent("act", {}))
        assert len(store.contact_events(session, 0)) == 1
