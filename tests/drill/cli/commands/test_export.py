"""Attempts leave the record as files and join another one: all of it, once, or nothing."""

import argparse
import csv
import json
import sys
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from drill import __version__
from drill.cli.commands import export, import_
from drill.core.conditions import Conditions
from drill.core.errors import ResourceUnavailable, UserError
from drill.core.models import Answer, Attempt
from drill.core.paths import record_file
from drill.items.plan import Plan, compose_item
from drill.radio.presets import load_preset
from drill.records import files, rows
from drill.records.reading import read
from drill.records.schema import COLUMNS, KINDS, NAMES, SCHEMA, schema_text
from drill.records.store import Store
from drill.scoring.answers import score

NOW = datetime(2026, 3, 4, 12, 0, tzinfo=UTC)
KINDS_OF_FILE = ("csv", "jsonl", "parquet")
Enter = Callable[[str], None]


def faintcall(*words: object) -> int:
    name, *arguments = words
    command = {"export": export, "import": import_}[str(name)]
    parser = argparse.ArgumentParser()
    command.add(parser)
    return int(command.run(parser.parse_args([str(word) for word in arguments])))


def fill(store: Store, plan: Plan, answers: list[str | None], *, now: datetime, mode: str) -> str:
    """Record a sitting; None gives up."""
    sitting = store.begin(plan, now=now, version="0.2.0", mode=mode)
    for number, typed in enumerate(answers):
        item = compose_item(plan, number)
        text = item.message.call if typed == "right" else typed or ""
        answer = Answer(typed=text, seconds=1.25, replays=number % 3, gave_up=typed is None)
        attempt = Attempt(
            answered_at=(now + timedelta(seconds=10 * number)).isoformat(),
            item=item,
            answer=answer,
            scores=score(item.message.fields, text),
            version="0.2.0",
        )
        store.add(sitting, number, attempt)
    return sitting


def fill_record() -> tuple[str, str]:
    """Record two sittings, one of lone calls, one of overs under busy conditions."""
    calls = Plan(seed=4, count=4, mix="unassigned", conditions=Conditions(snr_db=None))
    busy = load_preset("busy-weekend").conditions
    overs = Plan(seed=5, count=3, part="over", exchange="area", mix="unassigned", conditions=busy)
    with Store(record_file()) as store:
        first = fill(store, calls, ["right", "E8?", None, 'a,"b"\té'], now=NOW, mode="practice")
        later = NOW + timedelta(days=40)
        second = fill(store, overs, ["right 59 AB", ""], now=later, mode="training")
    return first, second


@pytest.fixture
def record(home: Path) -> tuple[str, str]:
    return fill_record()


@pytest.fixture
def enter(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Enter:
    """Give a function that goes to the home of that name."""
    return lambda name: monkeypatch.setenv("FAINTCALL_HOME", str(tmp_path / name))


def contents() -> list[rows.Row]:
    with Store(record_file()) as store:
        return list(rows.rows(store))


def cells(path: Path, kind: str) -> list[dict[str, Any]]:
    """Return a file's rows as JSON lines would hold them."""
    if kind == "jsonl":
        return [json.loads(line) for line in path.read_text("utf-8").splitlines()]
    if kind == "parquet":
        parquet = pytest.importorskip("pyarrow.parquet")
        found = parquet.read_table(path).to_pylist()
        return [{**row, "data": json.loads(row["data"])} for row in found]
    with path.open(encoding="utf-8", newline="") as file:
        return [
            {column.name: _uncsv(row[column.name], column.kind) for column in COLUMNS}
            for row in csv.DictReader(file)
        ]


def _uncsv(text: str, kind: str) -> Any:
    if kind == "text":
        return text
    if kind == "number":
        return float(text) if text else None
    return json.loads(text)


TYPES: dict[str, Any] = {
    "text": str,
    "integer": int,
    "number": (int, float, type(None)),
    "flag": bool,
    "texts": list,
    "flags": list,
    "json": dict,
}


@pytest.mark.parametrize("kind", KINDS_OF_FILE)
@pytest.mark.usefixtures("record")
def test_every_file_follows_the_schema(kind: str, tmp_path: Path) -> None:
    path = tmp_path / f"out.{kind}"
    assert faintcall("export", path) == 0
    found = cells(path, kind)
    assert len(found) == 6
    for row in found:
        assert tuple(row) == NAMES
        for column in COLUMNS:
            assert isinstance(row[column.name], TYPES[column.kind]), column
            assert type(row[column.name]) is not bool or column.kind == "flag"
    assert [path.name for path in tmp_path.glob("*out*")] == [path.name]


@pytest.mark.usefixtures("record")
def test_the_three_forms_say_the_same(tmp_path: Path) -> None:
    every = []
    for kind in KINDS_OF_FILE:
        path = tmp_path / f"out.{kind}"
        faintcall("export", path)
        every.append(cells(path, kind))
    assert every[0] == every[1] == every[2]


def test_a_row_says_what_happened(record: tuple[str, str], tmp_path: Path) -> None:
    path = tmp_path / "out.jsonl"
    faintcall("export", path)
    good, wrong, given_up, odd, over, _ = cells(path, "jsonl")
    call = compose_item(Plan(seed=4, count=4, mix="unassigned"), 0).message.call
    assert (good["sitting"], good["number"], good["mode"]) == (record[0], 0, "practice")
    assert (good["call"], good["sent"], good["typed"], good["right"]) == (call, call, call, True)
    assert good["characters_right"] == good["characters_sent"] == len(call)
    assert (good["plan_seed"], good["points"], good["snr_db"]) == (4, 100.0, None)
    assert wrong["fields_typed"] == ["E8?"]
    assert wrong["fields_right"] == [False]
    assert given_up["gave_up"] is True
    assert odd["typed"] == 'a,"b"\té'
    assert over["fields"] == ["call", "report", "area"]
    assert over["conditions"] == "busy-weekend"
    assert over["neighbours"] == len(load_preset("busy-weekend").conditions.neighbours)
    assert over["spoken"].split() == [
        word["say"] for word in over["data"]["item"]["message"]["words"]
    ]


def test_the_schema_is_told(capsys: pytest.CaptureFixture[str]) -> None:
    assert faintcall("export", "--schema") == 0
    told = capsys.readouterr().out
    assert told.strip() == schema_text()
    for column in COLUMNS:
        assert column.says in told
        assert column.kind in KINDS
    assert len(set(NAMES)) == len(NAMES)


@pytest.mark.parametrize("kind", KINDS_OF_FILE)
@pytest.mark.usefixtures("record")
def test_another_record_takes_all_of_it_once(kind: str, tmp_path: Path, enter: Enter) -> None:
    path = tmp_path / f"out.{kind}"
    faintcall("export", path)
    before = contents()
    enter("other")
    for _ in range(2):
        assert faintcall("import", path) == 0
        assert contents() == before
    with Store(record_file()) as store:
        assert [Plan.from_dict(sitting.plan).seed for sitting in store.sittings()] == [5, 4]
        assert store.attempts(before[0].sitting)[0].item == compose_item(
            Plan(seed=4, count=4, mix="unassigned", conditions=Conditions(snr_db=None)), 0
        )


def test_two_records_become_one(
    record: tuple[str, str], tmp_path: Path, enter: Enter, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "out.jsonl"
    faintcall("export", path)
    enter("other")
    plan = Plan(seed=9, count=2, mix="unassigned")
    with Store(record_file()) as store:
        own = fill(store, plan, ["right"], now=NOW, mode="practice")
    capsys.readouterr()
    faintcall("import", path)
    assert "6 attempts were added, 0 were here already" in capsys.readouterr().out
    assert {row.sitting for row in contents()} == {*record, own}


@pytest.mark.usefixtures("record")
def test_whole_sittings_are_chosen_by_day_and_kind(tmp_path: Path) -> None:
    path = tmp_path / "out.csv"
    faintcall("export", path, "--since", "2026-04-01")
    assert {row["mode"] for row in cells(path, "csv")} == {"training"}
    faintcall("export", path, "--mode", "practice", "--force")
    assert [row["number"] for row in cells(path, "csv")] == [0, 1, 2, 3]
    with pytest.raises(UserError, match="of that kind and time"):
        faintcall("export", path, "--since", "2027-01-01", "--force")


@pytest.mark.usefixtures("record")
@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["out.txt"], "ending of out.txt"),
        (["out.csv", "--format", "xml"], "'xml'"),
        (["out.csv", "--since", "soon"], "'soon'"),
        (["out.csv", "--mode", "nothing"], "no recorded attempt"),
        (["no/such/out.csv"], "cannot be written"),
        ([], "give the file"),
    ],
)
def test_what_cannot_be_exported(
    words: list[str], told: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    with pytest.raises(UserError, match=told) as caught:
        faintcall("export", *words)
    assert "\n" not in str(caught.value)


@pytest.mark.usefixtures("record")
def test_a_file_that_is_there_is_kept(tmp_path: Path) -> None:
    path = tmp_path / "out.csv"
    path.write_text("mine")
    with pytest.raises(UserError, match="--force"):
        faintcall("export", path)
    assert path.read_text() == "mine"


@pytest.mark.parametrize("kind", KINDS_OF_FILE)
@pytest.mark.usefixtures("record")
def test_a_stop_leaves_nothing_half(kind: str, tmp_path: Path) -> None:
    def stopped() -> Iterator[rows.Row]:
        yield contents()[0]
        raise KeyboardInterrupt

    folder = tmp_path / "to"
    folder.mkdir()
    (folder / "out").write_text("mine")
    with pytest.raises(KeyboardInterrupt):
        files.write(folder / "out", kind, stopped(), force=True)
    assert [path.name for path in folder.iterdir()] == ["out"]
    assert (folder / "out").read_text() == "mine"


@pytest.mark.usefixtures("record")
def test_without_pyarrow_one_line_says_how_to_get_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "pyarrow", None)
    with pytest.raises(ResourceUnavailable, match="pip install pyarrow"):
        faintcall("export", tmp_path / "out.parquet")
    assert not list(tmp_path.glob("*parquet*"))


# --- what may not come in


def lines_of(tmp_path: Path) -> list[dict[str, Any]]:
    path = tmp_path / "good.jsonl"
    with Store(record_file()) as store:
        files.write(path, "jsonl", rows.rows(store), force=True)
    return cells(path, "jsonl")


def _refused(path: Path, told: str) -> None:
    with pytest.raises(UserError, match=told) as caught:
        faintcall("import", path)
    assert "\n" not in str(caught.value)
    assert contents() == []


def _set(*keys: Any, to: Any) -> Callable[[dict[str, Any]], None]:
    def change(line: dict[str, Any]) -> None:
        place: Any = line
        for key in keys[:-1]:
            place = place[key]
        place[keys[-1]] = to

    return change


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (_set("number", to=-1), r"line 3: .*\(number\)"),
        (_set("number", to=True), r"\(number\)"),
        (_set("sitting", to="../x"), r"\(sitting\)"),
        (_set("at", to="yesterday"), r"\(at\)"),
        (_set("at", to="2026-01-01T00:00:00"), r"\(at\)"),
        (_set("version", to="1.0\n"), r"\(version\)"),
        (_set("schema", to=SCHEMA + 1), "newer faintcall"),
        (_set("version", to="999.0.1"), "newer faintcall"),
        (_set("data", to=[]), r"\(data\)"),
        (_set("data", "item", "seed", to="5"), "item in data"),
        (_set("data", "item", "message", "fields", to=[]), "scores in data"),
        (_set("data", "item", "message", "words", 0, "say", to=3), "item in data"),
        (_set("data", "item", "conditions", "snr_db", to=1000), "SNR 1000"),
        (_set("data", "item", "operator", to={}), "operator|missing"),
        (_set("data", "answer", "seconds", to=1e400), "line 3: .*cannot be read"),
        (_set("data", "answer", "replays", to=-1), "answer in data"),
        (_set("data", "answer", "text", to="\ud800"), "answer in data"),
        (_set("data", "scores", 0, "right", to=1), "scores in data"),
        (_set("sitting", to="0" * 32), "first row of its sitting"),
    ],
)
@pytest.mark.usefixtures("record")
def test_a_damaged_line_is_named_and_nothing_comes_in(
    change: Callable[[dict[str, Any]], None], told: str, tmp_path: Path, enter: Enter
) -> None:
    lines = lines_of(tmp_path)
    change(lines[2])
    path = tmp_path / "bad.jsonl"
    path.write_text("\n".join(map(json.dumps, lines)))
    enter("other")
    _refused(path, told)


@pytest.mark.usefixtures("record")
def test_a_sitting_with_a_gap_is_refused(tmp_path: Path, enter: Enter) -> None:
    lines = lines_of(tmp_path)
    del lines[1]
    path = tmp_path / "gap.jsonl"
    path.write_text("\n".join(map(json.dumps, lines)))
    enter("other")
    _refused(path, "1 attempts before number 3 are missing")


@pytest.mark.parametrize(
    ("name", "content", "told"),
    [
        ("a.jsonl", b"", "holds no attempts"),
        ("a.jsonl", b'{"a": 1}\n', "line 1"),
        ("a.jsonl", b"\xff\xfe\x00", "line 1"),
        ("a.jsonl", b"[" * 100_000, "line 1"),
        ("a.csv", b"", "holds no attempts"),
        ("a.csv", b"a,b\n1,2\n", "line 1"),
        ("a.csv", b'a,"b\n1,2\n', "line 1"),
        ("a.csv", b"\x00\xff", "line 1"),
        ("a.parquet", b"PAR1 but no more", "line 1"),
        ("a.txt", b"", "ending"),
    ],
)
def test_a_foreign_file_is_refused(
    name: str, content: bytes, told: str, tmp_path: Path, home: Path
) -> None:
    path = tmp_path / name
    path.write_bytes(content)
    _refused(path, told)


def test_a_missing_file_is_told(home: Path, tmp_path: Path) -> None:
    _refused(tmp_path / "none.jsonl", "no file")


def test_this_version_can_be_compared() -> None:
    from drill.records.reading import _numbers

    assert len(_numbers(__version__)) == 3
    assert _numbers("test") == ()


JUNK = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(), inner, max_size=3),
    max_leaves=5,
)


def _places(value: Any, path: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    """Give the way to everything within a value."""
    items = value.items() if isinstance(value, dict) else enumerate(value)
    for key, inner in items:
        yield (*path, key)
        if isinstance(inner, dict | list):
            yield from _places(inner, (*path, key))


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(data=st.data(), junk=JUNK)
def test_whatever_stands_in_a_line_is_taken_or_refused_in_one_line(
    data: st.DataObject, junk: Any, tmp_path: Path, home: Path
) -> None:
    if not record_file().exists():
        fill_record()
    line = lines_of(tmp_path)[0]
    at = data.draw(st.sampled_from(list(_places(line))))
    _set(*at, to=junk)(line)
    path = tmp_path / "one.jsonl"
    path.write_text(json.dumps(line))
    try:
        taken = list(read(path))
    except UserError as error:
        assert "\n" not in str(error)
    else:  # then it can be kept, and goes out again
        for row in taken:
            files.cells_of(row, first=True)
