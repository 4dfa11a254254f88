"""Settings, takes and cautions in the record."""

from datetime import timedelta
from pathlib import Path

from drill.records.store import Store
from tests.drill.records.attempts import NOW


def test_a_setting_is_kept_and_replaced(record_path: Path) -> None:
    with Store(record_path) as store:
        assert store.setting("volume") is None
        store.set_setting("volume", "0.3")
        store.set_setting("volume", "0.4")
    with Store(record_path) as store:
        assert store.setting("volume") == "0.4"


def test_a_caution_is_seen_once_and_for_all(record_path: Path) -> None:
    with Store(record_path) as store:
        assert not store.has_seen("hearing")
        store.set_seen("hearing", now=NOW)
        store.set_seen("hearing", now=NOW)
    with Store(record_path) as store:
        assert store.has_seen("hearing")
        assert not store.has_seen("licence")


def test_takes_come_newest_first(record_path: Path) -> None:
    with Store(record_path) as store:
        for day in range(3):
            now = NOW + timedelta(days=day)
            store.add_take({"number": day}, {"right": True}, now=now, version="test")
        takes = store.takes()
        assert [prompt["number"] for _, prompt, _ in takes] == [2, 1, 0]
        assert takes[0] == ((NOW + timedelta(days=2)).isoformat(), {"number": 2}, {"right": True})
        assert store.takes(newest=1) == takes[:1]
