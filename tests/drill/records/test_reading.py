"""Files of attempts are read back unchanged, or refused in one line that names what is wrong."""

import json
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from drill import __version__
from drill.core.errors import UserError
from drill.core.paths import record_file
from drill.records.reading import _version_numbers, read_attempts
from drill.records.rows import AttemptRow, attempt_rows
from drill.records.schema import SCHEMA_VERSION
from drill.records.store import Store
from drill.records.writing import WRITERS, attempt_cells, write_attempts
from tests.drill.records.attempts import fill_record

Line = dict[str, Any]


def rows_of_record() -> list[AttemptRow]:
    with Store(record_file()) as store:
        return list(attempt_rows(store))


def exported_lines(folder: Path) -> list[Line]:
    path = folder / "good.jsonl"
    with Store(record_file()) as store:
        write_attempts(path, "jsonl", attempt_rows(store), force=True)
    return [json.loads(line) for line in path.read_text("utf-8").splitlines()]


def read_lines(path: Path, lines: list[Line]) -> list[AttemptRow]:
    path.write_text("\n".join(map(json.dumps, lines)))
    return list(read_attempts(path))


def put(*keys: Any, value: Any) -> Callable[[Line], None]:
    """Return a function that sets a value within a line."""

    def change(line: Line) -> None:
        place: Any = line
        for key in keys[:-1]:
            place = place[key]
        place[keys[-1]] = value

    return change


def drop(*keys: Any) -> Callable[[Line], None]:
    """Return a function that deletes a value within a line."""

    def change(line: Line) -> None:
        place: Any = line
        for key in keys[:-1]:
            place = place[key]
        del place[keys[-1]]

    return change


@pytest.mark.parametrize("format_name", WRITERS)
@pytest.mark.usefixtures("filled_record")
def test_every_format_is_read_back_unchanged(format_name: str, tmp_path: Path) -> None:
    rows = rows_of_record()
    path = tmp_path / f"out.{format_name}"
    write_attempts(path, format_name, rows)
    assert list(read_attempts(path)) == rows


@pytest.mark.parametrize(
    ("change", "message", "field"),
    [
        (put("number", value=-1), "line 3: number -1 is out of range", "number"),
        (put("number", value=True), "number has to be a number", "number"),
        (put("number", value=2.0), "number has to be a whole number", "number"),
        (drop("number"), "number is missing", "number"),
        (
            put("sitting", value="../x"),
            "sitting has to be 32 hexadecimal digits, not '../x'",
            "sitting",
        ),
        (put("at", value="yesterday"), "at has to be a time with offset", "at"),
        (put("at", value="2026-01-01T00:00:00"), "at has to be a time with offset", "at"),
        (
            put("version", value="1.0\n"),
            "version has to be a version such as 0.2.0, not",
            "version",
        ),
        (put("schema", value=SCHEMA_VERSION + 1), "newer faintcall", ""),
        (put("version", value="999.0.1"), "newer faintcall", ""),
        (put("data", value=[]), "data has to be a table", "data"),
        (drop("data", "answer"), "data.answer is missing", "data.answer"),
        (put("data", "item", "seed", value="5"), "seed has to be a whole", "data.item.seed"),
        (put("data", "item", "seed", value=-5), "seed -5 is out of range", "data.item.seed"),
        (put("data", "item", "message", "fields", value=[]), "do not match", "data.scores"),
        (
            put("data", "item", "message", "words", 0, "say", value=3),
            "say has to be text",
            "data.item.message.words[0].say",
        ),
        (
            put("data", "item", "conditions", "snr_db", value=1000),
            "SNR 1000 dB is out of range",
            "data.item.conditions.snr_db",
        ),
        (
            put("data", "item", "operator", value={}),
            "data.item.operator.name is missing",
            "data.item.operator.name",
        ),
        (put("data", "answer", "seconds", value=1e400), "line 3: the line cannot be read", ""),
        (
            put("data", "answer", "seconds", value=-1),
            "seconds is negative",
            "data.answer.seconds",
        ),
        (
            put("data", "answer", "replays", value=-1),
            "replays -1 is out of range",
            "data.answer.replays",
        ),
        (
            put("data", "scores", 0, "right", value=1),
            "right has to be true or false",
            "data.scores[0].right",
        ),
        (put("sitting", value="0" * 32), "first row of its session is missing", "sitting"),
    ],
)
@pytest.mark.usefixtures("filled_record")
def test_a_damaged_line_is_named(
    change: Callable[[Line], None], message: str, field: str, tmp_path: Path
) -> None:
    lines = exported_lines(tmp_path)
    change(lines[2])
    with pytest.raises(UserError, match=message) as caught:
        read_lines(tmp_path / "bad.jsonl", lines)
    assert caught.value.field == field
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize(
    ("change", "message"),
    [
        (drop("plan"), "data.sitting.plan is missing"),
        (put("mode", value="Practice!"), "data.sitting.mode has to be 1 to 30 small letters"),
        (put("started", value="2026"), "data.sitting.started has to be a time"),
        (put("course", value=3), "data.sitting.course has to be a table"),
        (put("plan", "part", value="../over"), "data.sitting.plan.part"),
        (put("plan", "seed", value=-1), "data.sitting.plan.seed -1 is out of range"),
        (put("plan", "conditions", "agc", value="x"), "unknown entry 'conditions.agc'"),
        (drop("plan", "conditions"), "data.sitting.plan.snr_db is missing"),
    ],
)
@pytest.mark.usefixtures("filled_record")
def test_a_damaged_session_is_named(
    change: Callable[[Line], None], message: str, tmp_path: Path
) -> None:
    lines = exported_lines(tmp_path)
    change(lines[0]["data"]["sitting"])
    with pytest.raises(UserError, match=f"line 1: .*{message}"):
        read_lines(tmp_path / "bad.jsonl", lines)


@pytest.mark.usefixtures("filled_record")
def test_a_session_of_version_0_1_is_read(tmp_path: Path) -> None:
    """Such a session has no course, and has SNR and fading in place of the conditions."""
    lines = exported_lines(tmp_path)
    session = lines[0]["data"]["sitting"]
    del session["course"], session["plan"]["conditions"]
    session["plan"] |= {"snr_db": -3, "fading": "mid-quiet"}
    row = read_lines(tmp_path / "old.jsonl", lines[:1])[0]
    assert row.course == "{}"
    assert json.loads(row.plan)["fading"] == "mid-quiet"


@pytest.mark.parametrize(
    ("name", "content", "message"),
    [
        pytest.param("a.jsonl", b"", "contains no attempts", id="jsonl, empty"),
        pytest.param("a.jsonl", b'{"a": 1}\n', "line 1: schema is missing", id="jsonl, other keys"),
        pytest.param("a.jsonl", b"\xff\xfe\x00", "line 1", id="jsonl, not UTF-8"),
        pytest.param("a.jsonl", b"[" * 100_000, "line 1", id="jsonl, nested too deeply"),
        pytest.param("a.csv", b"", "contains no attempts", id="csv, empty"),
        pytest.param("a.csv", b"a,b\n1,2\n", "line 1", id="csv, other columns"),
        pytest.param("a.csv", b'a,"b\n1,2\n', "line 1", id="csv, open quote"),
        pytest.param("a.csv", b"\x00\xff", "line 1", id="csv, binary"),
        pytest.param("a.parquet", b"PAR1 but no more", "line 1", id="parquet, cut off"),
        pytest.param("a.txt", b"", "ending", id="other ending"),
    ],
)
def test_another_file_is_refused(name: str, content: bytes, message: str, tmp_path: Path) -> None:
    path = tmp_path / name
    path.write_bytes(content)
    with pytest.raises(UserError, match=message) as caught:
        list(read_attempts(path))
    assert "\n" not in str(caught.value)


def test_a_missing_file_is_reported(tmp_path: Path) -> None:
    with pytest.raises(UserError, match="cannot be read"):
        list(read_attempts(tmp_path / "none.jsonl"))


def test_versions_are_compared_by_their_numbers() -> None:
    assert len(_version_numbers(__version__)) == 3
    assert _version_numbers("test") == ()
    assert _version_numbers("0.10.0") > _version_numbers("0.9.3")


JUNK = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(), inner, max_size=3),
    max_leaves=5,
)


def paths_within(value: Any, path: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    """Yield the keys that lead to every value within a value."""
    entries = value.items() if isinstance(value, dict) else enumerate(value)
    for key, inner in entries:
        yield (*path, key)
        if isinstance(inner, dict | list):
            yield from paths_within(inner, (*path, key))


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.data(), junk=JUNK)
def test_any_change_of_a_line_is_accepted_or_refused_in_one_line(
    data: st.DataObject, junk: Any, tmp_path: Path, home: Path
) -> None:
    if not record_file().exists():
        fill_record()
    line = exported_lines(tmp_path)[0]
    put(*data.draw(st.sampled_from(list(paths_within(line)))), value=junk)(line)
    try:
        rows = read_lines(tmp_path / "one.jsonl", [line])
    except UserError as error:
        assert "\n" not in str(error)
    else:  # accepted rows can be exported again
        for row in rows:
            attempt_cells(row, first=True)
