from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from drill.contact.acts import LEAVE, Act
from drill.contact.debrief import ContactResult, contact_result
from drill.contact.live import LiveContact
from drill.core.structuring import to_data
from drill.items.plan import Plan
from drill.records.contacts import CONTACT_MODE, ContactEvent
from drill.records.store import Store
from drill.report.contacts import contact_sections, contact_trend
from drill.report.figures import build_report
from drill.report.sections import report_sections
from tests.drill.contact.scripted_trainee import ScriptedTrainee, make_frequency

NOW = datetime(2026, 11, 27, 20, 0, tzinfo=UTC)


def played(seed: int, watts: float) -> ContactResult:
    live = LiveContact(make_frequency(seed, watts=watts, path_snr_db=12.0))
    ScriptedTrainee(live).run()
    return contact_result(live, place=seed)


@pytest.fixture
def store(tmp_path: Path) -> Store:
    store = Store(tmp_path / "record.sqlite3")
    for day in range(4):
        session = store.begin_session(
            Plan(seed=day), now=NOW + timedelta(days=day), version="1", mode=CONTACT_MODE
        )
        for number, watts in enumerate((100.0, 5.0)):
            event = ContactEvent("result", to_data(played(10 * day + number, watts)))
            store.add_contact_event(session, number, 0, event)
    return store


def test_contacts_by_power_and_by_session(store: Store) -> None:
    with store:
        report = build_report(store, now=NOW)
    assert report.contacts is not None
    assert not report.is_empty
    assert report.contacts.total.begun == 8
    assert [entry.watts for entry in report.contacts.by_power] == [100.0, 5.0]
    assert len(report.contacts.sessions) == 4
    by_power, by_session = contact_sections(report.contacts)
    assert "Of 8 contacts" in by_power.sentences[0]
    assert by_power.table is not None
    assert [row[0] for row in by_power.table.rows] == ["100 W", "5 W"]
    assert by_session.table is not None
    assert len(by_session.table.rows) == 4
    assert {"contacts", "contact-trend"} <= {s.name for s in report_sections(report)}


def test_a_call_that_nobody_answered_was_not_got_at_all(tmp_path: Path) -> None:
    live = LiveContact(make_frequency(1, watts=5.0, path_snr_db=12.0))
    live.act(Act(at=16000, kind=LEAVE))
    with Store(tmp_path / "one.sqlite3") as store:
        session = store.begin_session(Plan(seed=1), now=NOW, version="1", mode=CONTACT_MODE)
        event = ContactEvent("result", to_data(contact_result(live, place=0)))
        store.add_contact_event(session, 0, 0, event)
        report = build_report(store, now=NOW)
    assert report.contacts is not None
    by_power, _ = contact_sections(report.contacts)
    assert by_power.sentences[0] == "1 contact, not in both logs."
    assert by_power.table is not None
    assert by_power.table.rows[0][4] == "too few"
    assert by_power.sentences[1] == "No far station answered you, so none got your call at all."


def test_a_trend_needs_several_sessions_at_different_times(store: Store) -> None:
    with store:
        contacts = build_report(store, now=NOW).contacts
    assert contacts is not None
    assert contact_trend(contacts.sessions[:1]) is None
    assert contact_trend(contacts.sessions) is not None


def test_a_record_without_contacts_has_no_section(tmp_path: Path) -> None:
    with Store(tmp_path / "empty.sqlite3") as store:
        report = build_report(store, now=NOW)
    assert report.contacts is None
    assert report.is_empty
