"""Attempts as files for other programs: CSV, JSON lines and Parquet, one row per attempt.

The columns are those of drill.records.schema. A file is written beside its target and renamed when
it is complete.
"""

import csv
import glob
import json
import os
from collections.abc import Callable, Iterable, Iterator
from contextlib import AbstractContextManager, contextmanager, suppress
from functools import lru_cache
from pathlib import Path
from typing import Any

from drill.core.conditions import Conditions
from drill.core.errors import ResourceUnavailable, UserError
from drill.core.packages import pip_install_command
from drill.core.structuring import from_data
from drill.core.validation import one_of
from drill.records.rows import AttemptRow
from drill.records.schema import COLUMN_NAMES, COLUMNS, SCHEMA_VERSION
from drill.records.sessions import scores_from_data
from drill.scoring.answers import count_characters

PARQUET = "parquet"
"""Name of the format that needs the extra of the same name."""
PARQUET_BATCH_ROWS = 1000

Cells = tuple[Any, ...]
WriteCells = Callable[[Cells], None]


def write_attempts(
    path: Path, format_name: str, rows: Iterable[AttemptRow], *, force: bool = False
) -> int:
    """Write rows in their order to a file; return how many.

    format_name: a key of WRITERS. force: replace an existing file.

    Raises: UserError if path exists (kind "exists") or cannot be written; ResourceUnavailable
    without pyarrow.
    """
    written, session = 0, ""
    with replaced_when_complete(path, force=force) as part, WRITERS[format_name](part) as write:
        for row in rows:
            write(attempt_cells(row, first=row.session != session))
            written, session = written + 1, row.session
    return written


def format_of(path: Path, given: str | None = None) -> str:
    """Return the name of the file format: the given one, or that of the file's ending.

    Raises: UserError, field "format", if it is not a key of WRITERS.
    """
    if given is not None:
        return one_of("format", given, WRITERS)
    ending = path.suffix.lower().lstrip(".")
    if ending in WRITERS:
        return ending
    raise UserError(
        f"the ending of {path} is not a known format; use .{', .'.join(WRITERS)}, or name the "
        "format",
        field="format",
        kind="unknown",
    )


def attempt_cells(row: AttemptRow, *, first: bool) -> Cells:
    """Return the cells of a row in the order of COLUMNS; first: first row of its session."""
    item, answer, plan = json.loads(row.item), json.loads(row.answer), json.loads(row.plan)
    scores = scores_from_data(json.loads(row.scores))
    characters_right, characters_sent = count_characters(scores)
    # The SNR has its own column; apart from it, all items of a session have the same conditions.
    conditions = _conditions(json.dumps({**item["conditions"], "snr_db": None}))
    message, operator = item["message"], item["operator"]
    values = {
        "schema": SCHEMA_VERSION,
        "sitting": row.session,
        "number": row.number,
        "at": row.answered_at,
        "started": row.started,
        "mode": row.mode,
        "part": message["part"],
        "exchange": message["exchange"],
        "mix": plan["mix"],
        "plan_seed": plan["seed"],
        "item_seed": item["seed"],
        "call": message["call"],
        "sent": " ".join(score.sent for score in scores),
        "typed": answer["text"],
        "fields": [score.name for score in scores],
        "fields_sent": [score.sent for score in scores],
        "fields_typed": [score.typed for score in scores],
        "fields_right": [score.right for score in scores],
        "right": bool(row.right),
        "points": row.points,
        "characters_right": characters_right,
        "characters_sent": characters_sent,
        "snr_db": row.snr_db,
        "operator": operator["name"],
        "engine": operator["engine"],
        "voice": operator["voice"],
        "pace": operator.get("pace", 1.0),
        "spoken": " ".join(word["say"] for word in message["words"]),
        "seconds": answer["seconds"],
        "replays": answer["replays"],
        "gave_up": answer["gave_up"],
        "version": row.version,
        "data": _data_json(row, first=first),
    } | _conditions_cells(conditions)
    return tuple(values[name] for name in COLUMN_NAMES)


@lru_cache(maxsize=256)
def _conditions(text: str) -> Conditions:
    return from_data(Conditions, json.loads(text))


def _conditions_cells(conditions: Conditions) -> dict[str, Any]:
    return {
        "conditions": conditions.name,
        "fading": conditions.fading.name,
        "delay_ms": conditions.fading.delay_ms,
        "spread_hz": conditions.fading.spread_hz,
        "vd_db": conditions.noise.vd_db,
        "processing": conditions.transmitter.processing,
        "off_frequency_hz": conditions.transmitter.off_frequency_hz,
        "neighbours": len(conditions.neighbours),
        "filter_width_hz": conditions.receiver.width_hz,
        "filter_shift_hz": conditions.receiver.shift_hz,
        "agc": conditions.receiver.agc,
    }


def _data_json(row: AttemptRow, *, first: bool) -> str:
    """Return the JSON column; it repeats the record's JSON texts unchanged."""
    parts = {"item": row.item, "answer": row.answer, "scores": row.scores}
    if first:
        session = {"started": row.started, "mode": row.mode, "version": row.session_version}
        head = json.dumps(session)[:-1]
        parts["sitting"] = f'{head}, "plan": {row.plan}, "course": {row.course}}}'
    return "{" + ", ".join(f'"{name}": {text}' for name, text in parts.items()) + "}"


# --- the three formats


@contextmanager
def _csv_writer(path: Path) -> Iterator[WriteCells]:
    def cell(value: Any) -> Any:
        return json.dumps(value) if isinstance(value, list | bool) else value

    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(COLUMN_NAMES)
        yield lambda cells: writer.writerow([cell(value) for value in cells])


@contextmanager
def _jsonl_writer(path: Path) -> Iterator[WriteCells]:
    with path.open("w", encoding="utf-8", newline="\n") as file:

        def write(cells: Cells) -> None:
            head = json.dumps(dict(zip(COLUMN_NAMES[:-1], cells[:-1], strict=True)))[:-1]
            file.write(f'{head}, "data": {cells[-1]}}}\n')

        yield write


@contextmanager
def _parquet_writer(path: Path) -> Iterator[WriteCells]:
    arrow, parquet = arrow_modules()
    types = {
        "text": arrow.string(),
        "integer": arrow.int64(),
        "number": arrow.float64(),
        "flag": arrow.bool_(),
        "texts": arrow.list_(arrow.string()),
        "flags": arrow.list_(arrow.bool_()),
        "json": arrow.string(),
    }
    fields = [
        arrow.field(column.name, types[column.type], metadata={"says": column.description})
        for column in COLUMNS
    ]
    batch: list[Cells] = []
    with parquet.ParquetWriter(path, arrow.schema(fields), compression="zstd") as writer:

        def flush() -> None:
            columns = [
                arrow.array([cells[index] for cells in batch], type=field.type)
                for index, field in enumerate(fields)
            ]
            writer.write_batch(arrow.RecordBatch.from_arrays(columns, schema=writer.schema))
            batch.clear()

        def write(cells: Cells) -> None:
            batch.append(cells)
            if len(batch) == PARQUET_BATCH_ROWS:
                flush()

        yield write
        if batch:
            flush()


def arrow_modules() -> tuple[Any, Any]:
    """Return the modules pyarrow and pyarrow.parquet.

    Raises: ResourceUnavailable naming the command that installs them.
    """
    try:
        import pyarrow
        import pyarrow.parquet
    except ImportError:
        raise ResourceUnavailable(
            "Parquet needs the package pyarrow; install it with: "
            f"{pip_install_command('pyarrow')}, or use csv or jsonl"
        ) from None
    return pyarrow, pyarrow.parquet


WRITERS: dict[str, Callable[[Path], AbstractContextManager[WriteCells]]] = {
    "csv": _csv_writer,
    "jsonl": _jsonl_writer,
    PARQUET: _parquet_writer,
}


@contextmanager
def replaced_when_complete(path: Path, *, force: bool) -> Iterator[Path]:
    """Yield a path to write to; the file replaces `path` if the block succeeds, else it is deleted.

    Raises: UserError if path exists and force is not set, or if it cannot be written.
    """
    if path.exists() and not force:
        raise UserError(f"{path} already exists; choose another name", field="path", kind="exists")
    part = path.with_name(f".{path.name}.{os.getpid()}.part")
    _delete_abandoned_parts(path)
    try:
        yield part
        part.replace(path)
    except OSError as error:
        raise UserError(f"{path} cannot be written: {error.strerror or error}") from None
    finally:
        with suppress(OSError):
            part.unlink(missing_ok=True)


def _delete_abandoned_parts(path: Path) -> None:
    """Delete the partial files of killed exports to this path, but not those of running exports."""
    for part in path.parent.glob(f".{glob.escape(path.name)}.*.part"):
        process = part.name.split(".")[-2]
        with suppress(OSError):  # on Windows, a file that is still open cannot be deleted
            if process.isdecimal() and not _is_running(int(process)):
                part.unlink()


def _is_running(process: int) -> bool:
    if os.name != "posix":  # on Windows, signal 0 would end the process
        return False
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    except (OSError, OverflowError):  # the process belongs to another user
        return True
    return True
