"""Files of attempts: three formats with the same content, complete or absent."""

import csv
import json
import os
import signal
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from drill.core.errors import ResourceUnavailable, UserError
from drill.core.paths import record_file
from drill.items.plan import compose_item
from drill.radio.presets import load_preset
from drill.records.rows import AttemptRow, attempt_rows
from drill.records.schema import COLUMN_NAMES, COLUMNS
from drill.records.store import Store
from drill.records.writing import WRITERS, format_of, write_attempts
from tests.drill.records.attempts import CALLS_PLAN

FORMATS = tuple(WRITERS)
PYTHON_TYPES: dict[str, Any] = {
    "text": str,
    "integer": int,
    "number": (int, float, type(None)),
    "flag": bool,
    "texts": list,
    "flags": list,
    "json": dict,
}


def export(path: Path, format_name: str = "jsonl") -> int:
    with Store(record_file()) as store:
        return write_attempts(path, format_name, attempt_rows(store))


def read_cells(path: Path, format_name: str) -> list[dict[str, Any]]:
    """Return a file's rows with the types that JSON lines would give them."""
    if format_name == "jsonl":
        return [json.loads(line) for line in path.read_text("utf-8").splitlines()]
    if format_name == "parquet":
        parquet = pytest.importorskip("pyarrow.parquet")
        rows = parquet.read_table(path).to_pylist()
        return [{**row, "data": json.loads(row["data"])} for row in rows]
    with path.open(encoding="utf-8", newline="") as file:
        return [
            {column.name: from_csv(row[column.name], column.type) for column in COLUMNS}
            for row in csv.DictReader(file)
        ]


def from_csv(cell: str, column_type: str) -> Any:
    if column_type == "text":
        return cell
    if column_type == "number":
        return float(cell) if cell else None
    return json.loads(cell)


@pytest.mark.parametrize("format_name", FORMATS)
@pytest.mark.usefixtures("filled_record")
def test_every_format_follows_the_schema(format_name: str, tmp_path: Path) -> None:
    path = tmp_path / f"out.{format_name}"
    assert export(path, format_name) == 6
    rows = read_cells(path, format_name)
    assert len(rows) == 6
    for row in rows:
        assert tuple(row) == COLUMN_NAMES
        for column in COLUMNS:
            assert isinstance(row[column.name], PYTHON_TYPES[column.type]), column
            assert type(row[column.name]) is not bool or column.type == "flag"
    assert [file.name for file in tmp_path.glob("*out*")] == [path.name]


@pytest.mark.usefixtures("filled_record")
def test_the_three_formats_have_the_same_content(tmp_path: Path) -> None:
    contents = []
    for format_name in FORMATS:
        path = tmp_path / f"out.{format_name}"
        export(path, format_name)
        contents.append(read_cells(path, format_name))
    assert contents[0] == contents[1] == contents[2]


def test_a_row_describes_the_attempt(filled_record: tuple[str, str], tmp_path: Path) -> None:
    path = tmp_path / "out.jsonl"
    export(path)
    right, wrong, gave_up, quoted, over, _ = read_cells(path, "jsonl")
    call = compose_item(CALLS_PLAN, 0).message.call
    assert (right["sitting"], right["number"], right["mode"]) == (filled_record[0], 0, "practice")
    assert (right["call"], right["sent"], right["typed"], right["right"]) == (
        call,
        call,
        call,
        True,
    )
    assert right["characters_right"] == right["characters_sent"] == len(call)
    assert (right["plan_seed"], right["points"], right["snr_db"]) == (4, 100.0, None)
    assert wrong["fields_typed"] == ["E8?"]
    assert wrong["fields_right"] == [False]
    assert gave_up["gave_up"] is True
    assert quoted["typed"] == 'a,"b"\té'
    assert over["fields"] == ["call", "report", "area"]
    assert over["conditions"] == "busy-weekend"
    assert over["neighbours"] == len(load_preset("busy-weekend").conditions.neighbours)
    words = over["data"]["item"]["message"]["words"]
    assert over["spoken"].split() == [word["say"] for word in words]


@pytest.mark.usefixtures("filled_record")
def test_only_the_first_row_of_a_session_describes_the_session(tmp_path: Path) -> None:
    path = tmp_path / "out.jsonl"
    export(path)
    described = ["sitting" in row["data"] for row in read_cells(path, "jsonl")]
    assert described == [True, False, False, False, True, False]


@pytest.mark.parametrize(
    ("name", "given", "format_name"),
    [("a.csv", None, "csv"), ("a.JSONL", None, "jsonl"), ("a.txt", "parquet", "parquet")],
)
def test_the_format_is_given_or_follows_the_ending(
    name: str, given: str | None, format_name: str
) -> None:
    assert format_of(Path(name), given) == format_name


@pytest.mark.parametrize(
    ("name", "given", "message"),
    [
        (
            "out.txt",
            None,
            "the ending of out.txt is not a known format; use .csv, .jsonl, .parquet",
        ),
        ("out.csv", "xml", "format 'xml' is unknown; choose one of csv, jsonl, parquet"),
    ],
)
def test_an_unknown_format_is_refused(name: str, given: str | None, message: str) -> None:
    with pytest.raises(UserError, match=message) as caught:
        format_of(Path(name), given)
    assert (caught.value.field, caught.value.kind) == ("format", "unknown")


@pytest.mark.usefixtures("filled_record")
def test_an_existing_file_is_replaced_only_on_request(tmp_path: Path) -> None:
    path = tmp_path / "out.csv"
    path.write_text("mine")
    with pytest.raises(UserError, match="already exists") as caught:
        export(path, "csv")
    assert caught.value.kind == "exists"
    assert path.read_text() == "mine"
    with Store(record_file()) as store:
        assert write_attempts(path, "csv", attempt_rows(store), force=True) == 6
    assert len(read_cells(path, "csv")) == 6


@pytest.mark.usefixtures("filled_record")
def test_a_folder_that_does_not_exist_is_reported(tmp_path: Path) -> None:
    with pytest.raises(UserError, match="cannot be written"):
        export(tmp_path / "no" / "such" / "out.csv", "csv")


@pytest.mark.parametrize("format_name", FORMATS)
@pytest.mark.usefixtures("filled_record")
def test_an_interrupted_write_leaves_the_old_file(format_name: str, tmp_path: Path) -> None:
    with Store(record_file()) as store:
        first = next(attempt_rows(store))

    def interrupted() -> Iterator[AttemptRow]:
        yield first
        raise KeyboardInterrupt

    path = tmp_path / "to" / "out"
    path.parent.mkdir()
    path.write_text("mine")
    with pytest.raises(KeyboardInterrupt):
        write_attempts(path, format_name, interrupted(), force=True)
    assert [file.name for file in path.parent.iterdir()] == ["out"]
    assert path.read_text() == "mine"


@pytest.mark.usefixtures("filled_record")
def test_without_pyarrow_the_message_names_the_command_that_installs_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "pyarrow", None)
    with pytest.raises(ResourceUnavailable, match="pip install pyarrow"):
        export(tmp_path / "out.parquet", "parquet")
    assert not list(tmp_path.glob("*parquet*"))


KILLED_EXPORT = """
import sys, time
from drill.cli.commands import export
from drill.cli import run

def slow_rows(store, **options):
    for row in attempt_rows(store, **options):
        yield row
        print("writing", flush=True)
        time.sleep(60)

import drill.records.rows as rows
attempt_rows, rows.attempt_rows = rows.attempt_rows, slow_rows
if hasattr(export, "attempt_rows"):
    export.attempt_rows = slow_rows
sys.argv = ["faintcall", "export", sys.argv[1]]
run()
"""


@pytest.mark.skipif(os.name != "posix", reason="signals of POSIX")
@pytest.mark.usefixtures("filled_record")
def test_a_killed_export_leaves_no_part_file(tmp_path: Path) -> None:
    """SIGTERM deletes the part file at once; after SIGKILL the next export deletes it."""
    folder = tmp_path / "exports"
    folder.mkdir()
    path = folder / "attempts.jsonl"
    for number, left in ((signal.SIGTERM, 0), (signal.SIGKILL, 1)):
        with subprocess.Popen(
            [sys.executable, "-c", KILLED_EXPORT, str(path)], stdout=subprocess.PIPE
        ) as process:
            assert process.stdout is not None
            assert process.stdout.readline() == b"writing\n"
            assert len(list(folder.iterdir())) == 1
            process.send_signal(number)
        assert process.returncode in (128 + number, -number)
        assert len(list(folder.iterdir())) == left
    export(path)
    assert [entry.name for entry in folder.iterdir()] == ["attempts.jsonl"]


@pytest.mark.usefixtures("filled_record")
def test_the_part_file_of_a_running_export_is_kept(tmp_path: Path) -> None:
    parts = [tmp_path / f".a.csv.{process}.part" for process in (os.getppid(), "x", 2**70)]
    for part in parts:
        part.touch()
    export(tmp_path / "a.csv", "csv")
    assert all(part.exists() for part in parts)
