"""Finished hunts as files, one row per hunt, for other programs and for comparison in a club."""

import csv
import hashlib
import io
import json
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, fields
from pathlib import Path, PurePath
from typing import Any

from drill.core.errors import UserError
from drill.core.structuring import from_data, to_data
from drill.core.validation import one_of
from drill.hunt.checking import VERDICTS, count_verdicts
from drill.hunt.results import HuntResult
from drill.hunt.stops import HUNT_PHASES
from drill.records.hunts import StoredHunt
from drill.records.schema import Column
from drill.records.store import Store
from drill.records.writing import replaced_when_complete

HUNT_SCHEMA_VERSION = 1
"""Version of the exported columns; raised with every change that a program reading them would
notice."""
HUNT_FORMATS = ("csv", "jsonl")
LARGEST_FILE_BYTES = 50_000_000
_BAND_PARTS = ("bands", "weekend", "minutes", "values")
"""Parts of the set-up that determine the band, besides the plan."""


@dataclass(frozen=True, kw_only=True, slots=True)
class HuntRow:
    """One finished hunt; HUNT_COLUMNS describes the fields."""

    schema: int
    hunt: str
    started: str
    same_band: str
    bands: tuple[str, ...]
    exchange: str
    seed: int
    minutes: float
    watts: float
    seconds: float
    logged: int
    right: int
    verdicts: dict[str, int]
    points: int
    areas: int
    score: int
    times_s: tuple[float, ...]
    stations: tuple[str, ...]
    own_call: str


HUNT_COLUMNS = (
    Column("schema", "integer", f"version of this schema, {HUNT_SCHEMA_VERSION}"),
    Column("hunt", "text", "id of the hunt"),
    Column("started", "text", "start of the hunt, ISO 8601"),
    Column(
        "same_band", "text", "equal for hunts on the same band, whatever the power and the own call"
    ),
    Column("bands", "texts", "names of the bands offered"),
    Column("exchange", "text", "name of the exchange"),
    Column("seed", "integer", "seed of the band"),
    Column("minutes", "number", "length that was chosen"),
    Column("watts", "number", "power"),
    Column("seconds", "number", "time until the end"),
    Column("logged", "integer", "contacts that were logged"),
    Column("right", "integer", "contacts that are right in both logs, without duplicates"),
    Column("verdicts", "json", f"number of contacts by verdict: {', '.join(VERDICTS)}"),
    Column("points", "integer", "points of the contacts"),
    Column("areas", "integer", "areas worked, which multiply the points"),
    Column("score", "integer", "points times areas"),
    Column("times_s", "json", f"seconds of {', '.join(HUNT_PHASES)}"),
    Column("stations", "texts", "calls of the stations of right contacts, all fictional"),
    Column("own_call", "text", "your own call, empty unless requested"),
)


def hunt_schema_text() -> str:
    """Return the columns as lines of text."""
    width = max(len(column.name) for column in HUNT_COLUMNS)
    return "\n".join(
        [
            f"Schema {HUNT_SCHEMA_VERSION}: one row per finished hunt, oldest first, in UTF-8.",
            "",
            *(f"  {c.name:{width}}  {c.type:7}  {c.description}" for c in HUNT_COLUMNS),
        ]
    )


def hunt_rows(store: Store, *, own_call: bool = False) -> Iterator[HuntRow]:
    """Yield the finished hunts of the record, oldest first.

    own_call: include the trainee's own call. Hunts that this version cannot read are left out.
    """
    for stored in reversed(list(store.hunts())):
        if stored.result is None:
            continue
        try:
            result = from_data(HuntResult, stored.result)
        except UserError:
            continue
        yield _row(stored, result, own_call=own_call)


def _row(stored: StoredHunt, result: HuntResult, *, own_call: bool) -> HuntRow:
    return HuntRow(
        schema=HUNT_SCHEMA_VERSION,
        hunt=stored.id,
        started=stored.started,
        same_band=_band_digest(stored),
        bands=result.bands,
        exchange=result.exchange,
        seed=result.seed,
        minutes=stored.setup["minutes"],
        watts=result.watts,
        seconds=result.seconds,
        logged=result.logged,
        right=result.right,
        verdicts=count_verdicts(result.contacts),
        points=result.points.points,
        areas=result.points.areas,
        score=result.points.score,
        times_s=result.times_s,
        stations=tuple(c.logs.given_call for c in result.contacts if c.is_right),
        own_call=str(stored.setup["own_call"]) if own_call else "",
    )


def _band_digest(stored: StoredHunt) -> str:
    """Return a short digest of everything that determines the band and its stations.

    Voices are left out, because they change only how the stations sound.
    """
    plan = {name: value for name, value in stored.plan.items() if name != "voices"}
    parts = {name: stored.setup.get(name) for name in _BAND_PARTS}
    text = json.dumps([plan, parts], sort_keys=True)
    return hashlib.sha256(text.encode()).hexdigest()[:16]


def hunt_format_of(name: str) -> str:
    """Return the format of a file by its ending. Raises: UserError with field "format"."""
    ending = PurePath(name).suffix.lower().lstrip(".")
    return one_of("format", ending, HUNT_FORMATS, label="ending")


def hunts_text(rows: Iterable[HuntRow], form: str) -> str:
    """Return rows as the text of a file. form: one of HUNT_FORMATS."""
    data = [to_data(row) for row in rows]
    if form != "csv":
        return "".join(f"{json.dumps(cells)}\n" for cells in data)
    out = io.StringIO()
    table = csv.writer(out, lineterminator="\n")
    table.writerow(column.name for column in HUNT_COLUMNS)
    for cells in data:
        table.writerow(
            json.dumps(cell) if isinstance(cell, list | dict) else cell
            for cell in (cells[column.name] for column in HUNT_COLUMNS)
        )
    return out.getvalue()


def write_hunts(path: Path, rows: Iterable[HuntRow], *, force: bool = False) -> int:
    """Write rows to a CSV or JSON lines file, by its ending; return how many.

    Raises: UserError if path exists (kind "exists") or cannot be written.
    """
    known = list(rows)
    text = hunts_text(known, hunt_format_of(path.name))
    with replaced_when_complete(path, force=force) as part:
        part.write_text(text, "utf-8", newline="")
    return len(known)


def read_hunts(path: Path) -> list[HuntRow]:
    """Return the rows of a file that write_hunts wrote. Raises: UserError naming the line."""
    form = hunt_format_of(path.name)
    try:
        if path.stat().st_size > LARGEST_FILE_BYTES:
            raise UserError(f"{path} is too large; give a file from faintcall export", field="path")
        text = path.read_text("utf-8")
    except OSError as error:
        raise UserError(f"{path} cannot be read: {error.strerror or error}", field="path") from None
    except UnicodeDecodeError:
        raise UserError(f"{path} is not text in UTF-8", field="path") from None
    return parse_hunts(text, form, name=str(path))


def parse_hunts(text: str, form: str, *, name: str) -> list[HuntRow]:
    """Return the rows of a file's text. name: of the file, for messages. Raises: UserError."""
    lines: Iterable[str | Mapping[str, str]] = text.splitlines()
    if form == "csv":
        lines = csv.DictReader(text.splitlines())
    rows = []
    for number, line in enumerate(lines, 2 if form == "csv" else 1):
        try:
            rows.append(from_data(HuntRow, _cells(line)))
        except (UserError, ValueError, TypeError) as error:
            raise UserError(
                f"{name}, line {number}: {error}; give a file from faintcall export --hunts",
                field="path",
            ) from None
    return rows


_TYPES = {field.name: field.type for field in fields(HuntRow)}


def _cells(line: str | Mapping[str, str]) -> Any:
    """Return the cells of a line; in CSV every cell is text."""
    if isinstance(line, str):
        return json.loads(line)
    plain = (str, "str")
    return {
        name: text if _TYPES.get(name, str) in plain else json.loads(text)
        for name, text in line.items()
    }
