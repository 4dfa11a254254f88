"""Attempts as files for other programs: CSV, JSON lines and Parquet, one row an attempt.

The columns are those of drill.records.schema. A file is written beside its target and renamed when
it is whole.
"""

import csv
import json
import os
from collections.abc import Callable, Iterable, Iterator
from contextlib import AbstractContextManager, contextmanager
from functools import lru_cache
from pathlib import Path
from typing import Any

from drill.core.conditions import Conditions
from drill.core.errors import ResourceUnavailable, UserError, pip_install_command
from drill.core.models import FieldScore, Pair
from drill.items.plan import conditions_from_plan_data
from drill.records.rows import Row
from drill.records.schema import COLUMNS, NAMES, SCHEMA
from drill.scoring.answers import characters

BATCH = 1000
"""Rows that Parquet takes at once."""

Cells = tuple[Any, ...]
Put = Callable[[Cells], None]


@lru_cache(maxsize=256)
def _conditions(text: str) -> Conditions:
    return conditions_from_plan_data({"conditions": json.loads(text)})


def scores_of(data: Iterable[dict[str, Any]]) -> tuple[FieldScore, ...]:
    """Return the scores that were written as plain data."""
    return tuple(
        FieldScore(**{**score, "pairs": tuple(Pair(**pair) for pair in score["pairs"])})
        for score in data
    )


def cells_of(row: Row, *, first: bool) -> Cells:
    """Return a row's cells in the order of COLUMNS; first: it is the first of its sitting."""
    item, answer, plan = json.loads(row.item), json.loads(row.answer), json.loads(row.plan)
    scores = scores_of(json.loads(row.scores))
    right, sent = characters(scores)
    # The level is a column of its own; without it, all items of a sitting share their conditions.
    on_air = _conditions(json.dumps({**item["conditions"], "snr_db": None}))
    message, operator = item["message"], item["operator"]
    values = {
        "schema": SCHEMA,
        "sitting": row.sitting,
        "number": row.number,
        "at": row.at,
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
        "characters_right": right,
        "characters_sent": sent,
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
        "data": _data(row, first=first),
    } | _conditions_cells(on_air)
    return tuple(values[name] for name in NAMES)


def _conditions_cells(on_air: Conditions) -> dict[str, Any]:
    return {
        "conditions": on_air.name,
        "fading": on_air.fading.name,
        "delay_ms": on_air.fading.delay_ms,
        "spread_hz": on_air.fading.spread_hz,
        "vd_db": on_air.noise.vd_db,
        "processing": on_air.transmitter.processing,
        "off_frequency_hz": on_air.transmitter.off_frequency_hz,
        "neighbours": len(on_air.neighbours),
        "filter_width_hz": on_air.receiver.width_hz,
        "filter_shift_hz": on_air.receiver.shift_hz,
        "agc": on_air.receiver.agc,
    }


def _data(row: Row, *, first: bool) -> str:
    """Return the JSON column, made of the record's own texts as they stand."""
    parts = {"item": row.item, "answer": row.answer, "scores": row.scores}
    if first:
        sitting = {"started": row.started, "mode": row.mode, "version": row.began}
        head = json.dumps(sitting)[:-1]
        parts["sitting"] = f'{head}, "plan": {row.plan}, "course": {row.course}}}'
    return "{" + ", ".join(f'"{name}": {text}' for name, text in parts.items()) + "}"


# --- the three forms


@contextmanager
def _csv(path: Path) -> Iterator[Put]:
    def cell(value: Any) -> Any:
        return json.dumps(value) if isinstance(value, list | bool) else value

    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(NAMES)
        yield lambda cells: writer.writerow([cell(value) for value in cells])


@contextmanager
def _jsonl(path: Path) -> Iterator[Put]:
    with path.open("w", encoding="utf-8", newline="\n") as file:

        def put(cells: Cells) -> None:
            head = json.dumps(dict(zip(NAMES[:-1], cells[:-1], strict=True)))[:-1]
            file.write(f'{head}, "data": {cells[-1]}}}\n')

        yield put


@contextmanager
def _parquet(path: Path) -> Iterator[Put]:
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
        arrow.field(column.name, types[column.kind], metadata={"says": column.says})
        for column in COLUMNS
    ]
    batch: list[Cells] = []
    with parquet.ParquetWriter(path, arrow.schema(fields), compression="zstd") as writer:

        def flush() -> None:
            columns = [
                arrow.array([cells[at] for cells in batch], type=field.type)
                for at, field in enumerate(fields)
            ]
            writer.write_batch(arrow.RecordBatch.from_arrays(columns, schema=writer.schema))
            batch.clear()

        def put(cells: Cells) -> None:
            batch.append(cells)
            if len(batch) == BATCH:
                flush()

        yield put
        if batch:
            flush()


def arrow_modules() -> tuple[Any, Any]:
    """Return pyarrow and its Parquet part. Raises: ResourceUnavailable naming how to install them."""
    try:
        import pyarrow
        import pyarrow.parquet
    except ImportError:
        raise ResourceUnavailable(
            "Parquet needs pyarrow, which is not installed here; install it with: "
            f"{pip_install_command('pyarrow')}, or take csv or jsonl"
        ) from None
    return pyarrow, pyarrow.parquet


WRITERS: dict[str, Callable[[Path], AbstractContextManager[Put]]] = {
    "csv": _csv,
    "jsonl": _jsonl,
    "parquet": _parquet,
}


def kind_of(path: Path, given: str | None = None) -> str:
    """Return csv, jsonl or parquet, as given or by the file's ending. Raises: UserError."""
    kind = path.suffix.lower().lstrip(".") if given is None else given
    if kind in WRITERS:
        return kind
    what = f"the ending of {path}" if given is None else f"format {given!r}"
    raise UserError(f"{what} is none of {', '.join(WRITERS)}; give --format one of them")


@contextmanager
def replacing(path: Path, *, force: bool) -> Iterator[Path]:
    """Lend a path beside path; when all went well it takes path's place, else it is removed.

    Raises: UserError where path is there already and force is not given, or cannot be written.
    """
    if path.exists() and not force:
        raise UserError(f"{path} is there already; give another name, or --force to replace it")
    part = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        yield part
        part.replace(path)
    except OSError as error:
        raise UserError(f"{path} cannot be written: {error.strerror or error}") from None
    finally:
        part.unlink(missing_ok=True)


def write(path: Path, kind: str, rows: Iterable[Row], *, force: bool = False) -> int:
    """Write rows in their order to path; return how many. kind: a key of WRITERS.

    Raises: UserError where path is not to be written; ResourceUnavailable without pyarrow.
    """
    written, sitting = 0, ""
    with replacing(path, force=force) as part, WRITERS[kind](part) as put:
        for row in rows:
            put(cells_of(row, first=row.sitting != sitting))
            written, sitting = written + 1, row.sitting
    return written
