"""Files of attempts, as drill.records.files writes them, read back as rows of the record.

Nothing in a file is trusted: every value is checked against the types of drill.core.models before it
comes into the record.
"""

import csv
import json
import math
import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import is_dataclass
from datetime import datetime
from functools import lru_cache
from pathlib import Path
from types import UnionType
from typing import Any, get_args, get_origin, get_type_hints

from drill import __version__
from drill.core.errors import UserError
from drill.core.models import Answer, FieldScore, Item
from drill.core.structuring import from_data
from drill.items.plan import conditions_from_plan_data
from drill.records.files import arrow_modules, kind_of, scores_of
from drill.records.rows import Row
from drill.records.schema import SCHEMA
from drill.scoring.answers import points

LONGEST = 16_000_000
"""Characters of a line that are read; far more than any attempt has."""
READ = ("schema", "sitting", "number", "at", "version", "data")
"""Columns that are read; all others follow from them."""
_IDENTITY = re.compile("[0-9a-f]{32}")
_VERSION = re.compile(r"[0-9A-Za-z.+-]{1,40}")
_MODE = re.compile(r"[a-z-]{1,30}")
_NAME = re.compile(r"[a-z0-9-]{0,40}")
_LONE = re.compile("[\ud800-\udfff]")
Record = Mapping[str, Any]
Check = Callable[[Any], bool]
MALFORMED = (UserError, KeyError, TypeError, ValueError, AttributeError)
"""What the makers of our nouns raise at data that is none of theirs."""
Begun = tuple[str, str, str, str, str]
Kept = tuple[float | None, int, float, str, str, str]


class _Damage(Exception):
    """Why a line is no attempt."""


class _Newer(Exception):
    """The line is of a newer faintcall."""


def read(path: Path, kind: str | None = None, *, trusted: bool = False) -> Iterator[Row]:
    """Give the attempts of a file, one at a time.

    trusted: the file has been read to its end just before, so that types are not checked again.

    Raises: UserError naming the file, the line and what is wrong with it; ResourceUnavailable.
    """
    kind = kind_of(path, kind)
    lines = {"csv": _csv, "jsonl": _jsonl, "parquet": _parquet}[kind](path)
    sittings: dict[str, Begun] = {}
    number = 0
    try:
        for line, record in lines:
            number = line
            yield _row(record, sittings, trusted=trusted)
    except _Newer:
        raise UserError(f"{path} was written by a newer faintcall; update this one") from None
    except _Damage as damage:
        raise UserError(
            f"{path}, line {number or 1}: no attempt as faintcall exports them ({damage}); "
            "nothing was imported"
        ) from None
    except OSError as error:
        raise UserError(f"{path} cannot be read: {error.strerror or error}") from None
    if not number:
        raise UserError(f"{path} holds no attempts")


# --- from the three forms to records; a line that cannot be read comes as an empty one


def _jsonl(path: Path) -> Iterator[tuple[int, Record]]:
    with path.open("rb") as file:
        number = 0
        while line := file.readline(LONGEST):
            number += 1
            if line.strip():
                yield number, _object(line)


def _csv(path: Path) -> Iterator[tuple[int, Record]]:
    before = csv.field_size_limit(LONGEST)
    try:
        with path.open(encoding="utf-8-sig", errors="surrogateescape", newline="") as file:
            reader = csv.reader(file, strict=True)
            head = _next(reader)
            if head is None:
                return
            if not set(READ) <= set(head):
                yield 1, {}
            while (cells := _next(reader)) is not None:
                record: dict[str, Any] = dict(zip(head, cells, strict=False))
                for name in ("schema", "number", "data"):
                    record[name] = _json(record.get(name, ""))
                yield reader.line_num, record
    finally:
        csv.field_size_limit(before)


def _next(reader: Iterator[list[str]]) -> list[str] | None:
    try:
        return next(reader, None)
    except csv.Error:
        return []


def _parquet(path: Path) -> Iterator[tuple[int, Record]]:
    arrow, parquet = arrow_modules()
    number = 0
    try:
        with parquet.ParquetFile(path) as file:
            for batch in file.iter_batches(batch_size=500, columns=list(READ)):
                for record in batch.to_pylist():
                    number += 1
                    yield number, {**record, "data": _json(record.get("data"))}
    except arrow.ArrowException:
        yield number + 1, {}


def _json(text: Any) -> Any:
    """Return what a JSON text says, None where it is none or says nan or infinite."""

    def refuse(constant: str) -> Any:
        raise ValueError(constant)

    try:
        return json.loads(text, parse_constant=refuse)
    except (ValueError, TypeError, RecursionError):
        return None


def _object(text: bytes) -> Record:
    found = _json(text)
    return found if isinstance(found, dict) else {}


# --- from a record to a row


def _row(record: Record, sittings: dict[str, Begun], *, trusted: bool) -> Row:
    """Return a record as a row; sittings: those met so far, for the rows that only name theirs.

    Raises: _Damage, _Newer.
    """
    _need(record, "it cannot be read")
    schema, version = _whole(record, "schema", 10**6), _text(record, "version", _VERSION)
    if schema > SCHEMA or _numbers(version) > _numbers(__version__):
        raise _Newer
    identity, number = _text(record, "sitting", _IDENTITY), _whole(record, "number", 10**6)
    at, data = _time(record, "at"), _table(record, "data")
    if "sitting" in data and identity not in sittings:
        sittings[identity] = _sitting(_table(data, "sitting"))
    _need(identity in sittings, "the first row of its sitting is missing")
    started, mode, plan, began, course = sittings[identity]
    kept = _attempt(data) if trusted else _checked(data)
    return Row(identity, started, mode, plan, began, course, number, at, *kept, version)


def _need(good: object, what: str) -> None:
    if not good:
        raise _Damage(what)


def _short(text: str) -> str:
    return " ".join(text.split())[:160]


def _text(data: Record, name: str, form: re.Pattern[str]) -> str:
    found = data.get(name)
    if not isinstance(found, str) or not form.fullmatch(found):
        raise _Damage(name)
    return found


def _whole(data: Record, name: str, most: int) -> int:
    found = data.get(name)
    if type(found) is not int or not 0 <= found <= most:
        raise _Damage(name)
    return found


def _table(data: Record, name: str) -> dict[str, Any]:
    found = data.get(name)
    if not isinstance(found, dict):
        raise _Damage(name)
    return found


def _time(data: Record, name: str) -> str:
    found = data.get(name)
    try:
        if isinstance(found, str) and datetime.fromisoformat(found).tzinfo:
            return found
    except ValueError:
        pass
    raise _Damage(name)


def _numbers(version: str) -> tuple[int, ...]:
    """Return the numbers of a version, () where it has none."""
    return tuple(int(part) for part in re.findall(r"^\d+|(?<=\.)\d+", version)[:3])


def _sitting(data: Record) -> Begun:
    """Return started, mode, plan, version and course of a sitting. Raises: _Damage."""
    plan, course = _table(data, "plan"), data.get("course", {})
    _need(isinstance(course, dict), "course")
    for name in ("part", "exchange", "mix"):
        _text(plan, name, _NAME)
    for name in ("seed", "count"):
        _whole(plan, name, 2**63 - 1)
    try:
        conditions_from_plan_data(plan)
    except MALFORMED as error:
        raise _Damage(_short(f"conditions in the plan: {error}")) from None
    mode, version = _text(data, "mode", _MODE), _text(data, "version", _VERSION)
    return _time(data, "started"), mode, json.dumps(plan), version, json.dumps(course)


def _checked(data: dict[str, Any]) -> Kept:
    """Return what _attempt does, after a check of everything. Raises: _Damage."""
    try:
        item = from_data(Item, data["item"])
        answer = Answer(**data["answer"])
        scores = scores_of(data["scores"])
    except MALFORMED as error:
        raise _Damage(_short(f"data: {type(error).__name__} {error}")) from None
    _need(_fits(item, Item) and 0 <= item.seed < 2**63, "item in data")
    _need(_fits(answer, Answer) and answer.seconds >= 0 and answer.replays >= 0, "answer in data")
    names = [field.name for field in item.message.fields]
    _need(names and [score.name for score in scores] == names, "scores in data")
    _need(all(_fits(score, FieldScore) for score in scores), "scores in data")
    return _attempt(data)


def _attempt(data: dict[str, Any]) -> Kept:
    """Return snr_db, right, points, item, answer and scores as the record keeps them."""
    scores = scores_of(data["scores"])
    return (
        data["item"]["conditions"].get("snr_db", 0.0),
        int(all(score.right for score in scores)),
        points(scores, Answer(**data["answer"])),
        json.dumps(data["item"]),
        json.dumps(data["answer"]),
        json.dumps(data["scores"]),
    )


def _fits(value: Any, kind: type) -> bool:
    """Return True where a value, and all within it, is of the kind that its type declares."""
    return _check_of(kind)(value)


@lru_cache(maxsize=64)
def _check_of(kind: Any) -> Check:
    """Return the check of one kind; made once, since a row takes hundreds of them."""
    if is_dataclass(kind):
        parts = [(name, _check_of(hint)) for name, hint in get_type_hints(kind).items()]
        return lambda value: (
            type(value) is kind and all(check(getattr(value, name)) for name, check in parts)
        )
    if get_origin(kind) is tuple:
        one = _check_of(get_args(kind)[0])
        return lambda value: type(value) is tuple and all(map(one, value))
    if isinstance(kind, UnionType):
        some = [_check_of(choice) for choice in get_args(kind)]
        return lambda value: any(check(value) for check in some)
    return CHECKS.get(kind, lambda value: type(value) is kind)


CHECKS: dict[Any, Check] = {
    float: lambda value: type(value) in (int, float) and math.isfinite(value),
    # Half a surrogate pair cannot be shown.
    str: lambda value: type(value) is str and (value.isascii() or not _LONE.search(value)),
}
