"""Files of hunts are read back, and contain the user's own call only on request."""

import csv
import json
from dataclasses import fields, replace
from datetime import UTC, datetime
from pathlib import Path

import pytest

from drill.core.errors import UserError
from drill.hunt.acts import END, HuntAct
from drill.hunt.exports import (
    HUNT_COLUMNS,
    HUNT_FORMATS,
    HuntRow,
    hunt_rows,
    read_hunts,
    write_hunts,
)
from drill.hunt.judging import nothing_expected
from drill.hunt.live import LiveHunt
from drill.hunt.sessions import HuntSession
from drill.records.store import Store
from tests.drill.hunt.simple_hunter import SimpleHunter, make_setup

NOW = datetime(2026, 11, 27, 20, 0, tzinfo=UTC)


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Store:
    """Return a record with two hunts on the same band, one on another, and an unfinished one."""
    store = Store(tmp_path_factory.mktemp("exports") / "record.sqlite3")
    for watts, seed in ((100.0, 7), (5.0, 7), (5.0, 8)):
        session = HuntSession.begin(make_setup(watts=watts, seed=seed), store, now=NOW)
        hunter = SimpleHunter(session.live, session.act, session.advance)
        hunter.work(hunter.strongest()[0], patience_s=30.0)
        session.act(HuntAct(at=session.live.now, kind=END))
        session.result(nothing_expected)
    HuntSession.begin(make_setup(), store, now=NOW)
    return store


def test_columns_are_the_fields_of_a_row() -> None:
    assert [column.name for column in HUNT_COLUMNS] == [field.name for field in fields(HuntRow)]


@pytest.mark.parametrize("form", HUNT_FORMATS)
def test_rows_are_read_back(store: Store, tmp_path: Path, form: str) -> None:
    rows = list(hunt_rows(store))
    assert len(rows) == 3
    path = tmp_path / f"hunts.{form}"
    assert write_hunts(path, rows) == 3
    assert read_hunts(path) == rows
    with pytest.raises(UserError) as error:
        write_hunts(path, rows)
    assert error.value.kind == "exists"
    assert write_hunts(path, rows, force=True) == 3


def test_the_own_call_is_left_out_unless_requested(store: Store, tmp_path: Path) -> None:
    for form in HUNT_FORMATS:
        path = tmp_path / f"plain.{form}"
        write_hunts(path, hunt_rows(store))
        assert "E87ABC" not in path.read_text("utf-8")
        assert {row.own_call for row in hunt_rows(store, own_call=True)} == {"E87ABC"}


def test_the_same_band_is_recognised_at_any_power(store: Store) -> None:
    strong, weak, other = hunt_rows(store)
    assert strong.same_band == weak.same_band != other.same_band
    assert strong.watts != weak.watts


def test_other_programs_can_read_the_csv(store: Store, tmp_path: Path) -> None:
    path = tmp_path / "hunts.csv"
    write_hunts(path, hunt_rows(store))
    with path.open(newline="") as file:
        first = next(csv.DictReader(file))
    assert json.loads(first["bands"]) == ["open"]
    assert int(first["right"]) == len(json.loads(first["stations"]))


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("a.csv", "schema,hunt\n1,x\n"),
        ("a.csv", "schema,right\none,2\n"),
        ("a.jsonl", "{}\n"),
        ("a.jsonl", "not json\n"),
        ("a.jsonl", "[1]\n"),
        ("a.txt", ""),
    ],
)
def test_other_files_are_refused(tmp_path: Path, name: str, text: str) -> None:
    path = tmp_path / name
    path.write_text(text)
    with pytest.raises(UserError):
        read_hunts(path)
    with pytest.raises(UserError):
        read_hunts(tmp_path / "missing.csv")
    (tmp_path / "bytes.csv").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(UserError):
        read_hunts(tmp_path / "bytes.csv")


def test_other_voices_are_the_same_band(store: Store, tmp_path: Path) -> None:
    setup = make_setup(watts=100.0)
    assert setup.plan.voices
    other = replace(setup, plan=replace(setup.plan, voices=("rivet",)), voice="rivet")
    with Store(tmp_path / "other.sqlite3") as theirs:
        session = HuntSession.begin(other, theirs, now=NOW)
        session.act(HuntAct(at=0, kind=END))
        session.result(nothing_expected)
        (row,) = hunt_rows(theirs)
    assert row.same_band == next(hunt_rows(store)).same_band
    stations = [channel.holder for channel in session.live.channels.values()]
    mine = [channel.holder for channel in LiveHunt(setup).channels.values()]
    assert [(s.call, s.carrier_hz, s.near_db(60.0)) for s in stations] == [
        (s.call, s.carrier_hz, s.near_db(60.0)) for s in mine
    ]
