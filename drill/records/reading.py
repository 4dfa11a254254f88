"""Reads files of attempts that drill.records.writing wrote, as rows for the record.

Files are not trusted: every value is checked before it is stored.
"""

import csv
import json
import re
from collections.abc import Iterator, Mapping
from datetime import datetime
from pathlib import Path
from typing import Any

from drill import __version__
from drill.core.errors import UserError
from drill.core.models import Answer, Item
from drill.core.structuring import from_data
from drill.core.validation import (
    checked_table,
    checked_text,
    integer_within,
    json_value,
    required_keys,
    wrong_type,
)
from drill.items.plan import conditions_from_plan_data
from drill.records.repair import repaired_json
from drill.records.rows import AttemptRow
from drill.records.schema import SCHEMA_VERSION
from drill.records.sessions import scores_from_data
from drill.records.writing import arrow_modules, format_of
from drill.scoring.answers import answer_points

MAX_LINE_LENGTH = 16_000_000
"""Longest line that is read, in characters; an attempt is far shorter."""
READ_COLUMNS = ("schema", "sitting", "number", "at", "version", "data")
"""Columns that are read; the others are derived from these."""
MAX_NUMBER = 10**6
_IDENTITY = ("[0-9a-f]{32}", "32 hexadecimal digits")
_VERSION = ("[0-9A-Za-z.+-]{1,40}", "a version such as 0.2.0")
_MODE = ("[a-z-]{1,30}", "1 to 30 small letters and hyphens")
_NAME = ("[a-z0-9-]{0,40}", "at most 40 small letters, digits and hyphens")
"""Required forms of texts: a regular expression, and its description in messages."""

Record = Mapping[str, Any]
SessionStart = tuple[str, str, str, str, str]
"""Cells of AttemptRow: started, mode, plan, session_version, course."""
AttemptResult = tuple[float | None, int, float, str, str, str]
"""Cells of AttemptRow: snr_db, right, points, item, answer, scores."""


def read_attempts(path: Path, format_name: str | None = None) -> Iterator[AttemptRow]:
    """Yield the attempts of a file, one at a time.

    format_name: csv, jsonl or parquet, None to use the file's ending.

    Raises: UserError naming the file, the line and the fault; ResourceUnavailable if a Parquet file
    is read without pyarrow.
    """
    format_name = format_of(path, format_name)
    records = {"csv": _csv_records, "jsonl": _jsonl_records, "parquet": _parquet_records}
    sessions: dict[str, SessionStart] = {}
    line = 0
    try:
        for number, record in records[format_name](path):
            line = number
            yield _attempt_row(record, sessions)
    except UserError as error:
        if error.kind == "newer":
            raise UserError(
                f"{path} was written by a newer faintcall; update faintcall", kind="newer"
            ) from None
        raise UserError(
            f"{path}, line {line or 1}: {error}; nothing was imported",
            field=error.field,
            kind=error.kind,
        ) from None
    except OSError as error:
        raise UserError(f"{path} cannot be read: {error.strerror or error}") from None
    if not line:
        raise UserError(f"{path} contains no attempts")


# --- from the three formats to records; a line that cannot be parsed yields an empty record


def _jsonl_records(path: Path) -> Iterator[tuple[int, Record]]:
    with path.open("rb") as file:
        number = 0
        while line := file.readline(MAX_LINE_LENGTH):
            number += 1
            if line.strip():
                record = _json_or_none(line)
                yield number, record if isinstance(record, dict) else {}


def _csv_records(path: Path) -> Iterator[tuple[int, Record]]:
    previous_limit = csv.field_size_limit(MAX_LINE_LENGTH)
    try:
        with path.open(encoding="utf-8-sig", errors="surrogateescape", newline="") as file:
            reader = csv.reader(file, strict=True)
            head = _next_row(reader)
            if head is None:
                return
            if not set(READ_COLUMNS) <= set(head):
                yield 1, {}
            while (cells := _next_row(reader)) is not None:
                record: dict[str, Any] = dict(zip(head, cells, strict=False))
                for name in ("schema", "number", "data"):
                    record[name] = _json_or_none(record.get(name, ""))
                yield reader.line_num, record
    finally:
        csv.field_size_limit(previous_limit)


def _next_row(reader: Iterator[list[str]]) -> list[str] | None:
    try:
        return next(reader, None)
    except csv.Error:
        return []


def _parquet_records(path: Path) -> Iterator[tuple[int, Record]]:
    arrow, parquet = arrow_modules()
    number = 0
    try:
        with parquet.ParquetFile(path) as file:
            for batch in file.iter_batches(batch_size=500, columns=list(READ_COLUMNS)):
                for record in batch.to_pylist():
                    number += 1
                    yield number, {**record, "data": _json_or_none(record.get("data"))}
    except arrow.ArrowException:
        yield number + 1, {}


def _json_or_none(source: Any) -> Any:
    """Return the value of a JSON text, None if it is not valid JSON.

    Version 0.2.0 exported unpaired surrogates; they are replaced as in the record.
    """
    try:
        return json_value(source)
    except UserError as error:
        return json.loads(repaired_json(source)) if error.kind == "not_unicode" else None
    except TypeError:  # a Parquet column of another type
        return None


# --- from a record to a row


def _attempt_row(record: Record, sessions: dict[str, SessionStart]) -> AttemptRow:
    """Return a record as a row.

    sessions: the sessions read so far, by id; only the first row of a session describes it.
    Raises: UserError, kind "newer" if a newer faintcall wrote the record.
    """
    if not record:
        raise UserError("the line cannot be read")
    required_keys(record, READ_COLUMNS)
    schema = integer_within("schema", record["schema"], 0, MAX_NUMBER)
    version = _matching("version", record["version"], _VERSION)
    if schema > SCHEMA_VERSION or _version_numbers(version) > _version_numbers(__version__):
        raise UserError("the line was written by a newer faintcall", kind="newer")
    identity = _matching("sitting", record["sitting"], _IDENTITY)
    number = integer_within("number", record["number"], 0, MAX_NUMBER)
    answered_at = checked_time("at", record["at"])
    data = checked_table("data", record["data"])
    if "sitting" in data and identity not in sessions:
        sessions[identity] = checked_session_start(checked_table("data.sitting", data["sitting"]))
    if identity not in sessions:
        raise UserError("the first row of its session is missing", field="sitting", kind="missing")
    started, mode, plan, session_version, course = sessions[identity]
    return AttemptRow(
        identity,
        started,
        mode,
        plan,
        session_version,
        course,
        number,
        answered_at,
        *checked_attempt_result(data),
        version,
    )


def checked_session_start(data: Record) -> SessionStart:
    """Return the cells that describe a session; data: its entries as exported.

    Raises: UserError.
    """
    where = "data.sitting"
    required_keys(data, ("started", "mode", "plan", "version"), where)
    plan = checked_table(f"{where}.plan", data["plan"])
    course = checked_table(f"{where}.course", data.get("course", {}))
    required_keys(plan, ("part", "exchange", "mix", "seed", "count"), f"{where}.plan")
    for name in ("part", "exchange", "mix"):
        _matching(f"{where}.plan.{name}", plan[name], _NAME)
    for name in ("seed", "count"):
        integer_within(f"{where}.plan.{name}", plan[name], 0, 2**63 - 1)
    if "conditions" not in plan:
        required_keys(plan, ("snr_db", "fading"), f"{where}.plan")  # version 0.1
    conditions_from_plan_data(plan)
    return (
        checked_time(f"{where}.started", data["started"]),
        _matching(f"{where}.mode", data["mode"], _MODE),
        json.dumps(plan),
        _matching(f"{where}.version", data["version"], _VERSION),
        json.dumps(course),
    )


def checked_attempt_result(data: Record) -> AttemptResult:
    """Return the cells that describe item, answer and scores; data: the column "data".

    Raises: UserError.
    """
    required_keys(data, ("item", "answer", "scores"), "data")
    scores = scores_from_data(data["scores"], "data.scores")
    answer = from_data(Answer, data["answer"], "data.answer")
    item = from_data(Item, data["item"], "data.item")
    integer_within("data.item.seed", item.seed, 0, 2**63 - 1)
    if answer.seconds < 0:
        raise UserError("data.answer.seconds is negative", field="data.answer.seconds")
    integer_within("data.answer.replays", answer.replays, 0, 2**63 - 1)
    names = [field.name for field in item.message.fields]
    if not names or [score.name for score in scores] != names:
        raise UserError("data.scores do not match the fields of the item", field="data.scores")
    return (
        data["item"]["conditions"].get("snr_db", 0.0),
        int(all(score.right for score in scores)),
        answer_points(scores, answer),
        json.dumps(data["item"]),
        json.dumps(data["answer"]),
        json.dumps(data["scores"]),
    )


def _matching(field: str, value: Any, form: tuple[str, str]) -> str:
    pattern, description = form
    if not re.fullmatch(pattern, checked_text(field, value)):
        raise wrong_type(field, value, description)
    return str(value)


def checked_time(field: str, value: Any) -> str:
    """Return a time in ISO 8601 with offset. Raises: UserError."""
    try:
        if datetime.fromisoformat(checked_text(field, value)).tzinfo:
            return str(value)
    except ValueError:
        pass
    raise wrong_type(field, value, "a time with offset such as 2026-01-31T18:05:00+01:00")


def _version_numbers(version: str) -> tuple[int, ...]:
    """Return the first numbers of a version, at most three; () for a version without numbers."""
    return tuple(int(part) for part in re.findall(r"^\d+|(?<=\.)\d+", version)[:3])
