"""A record in which any column of any row is damaged: one line or a result, never a traceback."""

import io
import json
import shutil
import sqlite3
import sys
from contextlib import closing
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from drill.cli import main
from drill.core.paths import record_file
from tests.web.client import disable_prefetch, logged_in_client

pytestmark = pytest.mark.slow
RECORD = Path(__file__).parents[1] / "drill" / "records" / "data" / "record-0.2.0.sqlite3"
COLUMNS = {
    "sitting": ("id", "started", "mode", "plan", "version", "course"),
    "attempt": ("at", "snr_db", "points", "item", "answer", "scores", "version"),
    "setting": ("name", "value"),
    "take": ("at", "prompt", "review", "version"),
}
DAMAGES = (
    "''",
    "'{}'",
    "'5'",
    "'\"\\ud800\"'",
    "x'ff00'",
    "CAST(x'ff' AS TEXT)",
    "'" + "[" * 3000 + "'",
)
WRONG_VALUES: tuple[object, ...] = (None, -1, "x", [], {}, 1e300)
COMMANDS = (
    ["history"],
    ["history", "--items", "1"],
    ["export", "{folder}/out.jsonl", "--force"],
    ["export", "{folder}/out.csv", "--force"],
    ["copy", "--continue", "--audio-to", "{folder}/sounds"],
    ["measure", "--items", "2", "--audio-to", "{folder}/sounds", "--seed", "1"],
    ["copy", "--kind", "training", "--items", "2", "--audio-to", "{folder}/sounds"],
)
PAGES = ("/", "/api/sessions", "/api/history", "/api/report", "/api/settings", "/api/cautions")


def damaged_json(text: str) -> list[str]:
    """Return a JSON object with each top-level entry in turn removed or given a wrong value."""
    data = json.loads(text)
    if not isinstance(data, dict):
        return []
    variants = []
    for key in data:
        variants.append(json.dumps({name: data[name] for name in data if name != key}))
        variants += [json.dumps({**data, key: value}) for value in WRONG_VALUES]
    return variants


def damage(statement: str, *values: str) -> bool:
    """Copy the example record to the test's home folder and damage it; False if SQLite refuses."""
    path = record_file()
    for suffix in ("", "-wal", "-shm"):
        path.with_name(path.name + suffix).unlink(missing_ok=True)
    shutil.copy(RECORD, path)
    with closing(sqlite3.connect(path, isolation_level=None)) as db:
        db.execute("PRAGMA foreign_keys = OFF")
        try:
            db.execute(statement, values)
        except sqlite3.IntegrityError:
            return False
    return True


def check_commands(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for command in COMMANDS:
        words = [word.format(folder=folder) for word in command]
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(sys, "stdin", io.StringIO("\n"))
            status = main(words)
        error = capsys.readouterr().err
        assert status in (0, 1, 2), words
        if status:
            assert error.splitlines()[-1].startswith("faintcall: "), (words, error)


def check_pages(client: TestClient) -> None:
    for path in PAGES:
        response = client.get(path)
        assert response.status_code in (200, 400, 404, 503), (path, response.text)


@pytest.fixture
def folder(home: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Give the test an empty home folder, and a folder for files."""
    record_file().parent.mkdir(parents=True)
    disable_prefetch(monkeypatch)
    return tmp_path


@pytest.mark.parametrize(
    ("table", "column"), [(table, column) for table in COLUMNS for column in COLUMNS[table]]
)
def test_every_damaged_column_is_survived(
    table: str, column: str, folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    client = logged_in_client()
    for value in DAMAGES:
        if damage(f"UPDATE OR REPLACE {table} SET {column} = {value}"):
            check_pages(client)
            check_commands(folder, capsys)


@pytest.mark.parametrize(
    ("table", "column"),
    [
        ("sitting", "plan"),
        ("sitting", "course"),
        ("attempt", "item"),
        ("attempt", "answer"),
        ("take", "review"),
        ("take", "prompt"),
    ],
)
def test_every_damaged_entry_is_survived(
    table: str, column: str, folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with closing(sqlite3.connect(RECORD)) as db:
        texts = [row[0] for row in db.execute(f"SELECT DISTINCT {column} FROM {table}")]
    longest = max(texts, key=len)
    client = logged_in_client()
    for variant in damaged_json(longest)[::5]:
        assert damage(f"UPDATE {table} SET {column} = ?", variant)
        check_pages(client)
        check_commands(folder, capsys)
