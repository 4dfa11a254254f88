"""The commands export and import: attempts leave the record as a file and join another record."""

import argparse
import json
from collections.abc import Callable
from pathlib import Path

import pytest

from drill.cli.commands import export, import_
from drill.core.errors import UserError
from drill.core.paths import record_file
from drill.items.plan import Plan, compose_item
from drill.records.rows import AttemptRow, attempt_rows
from drill.records.schema import schema_text
from drill.records.store import Store
from drill.records.writing import WRITERS
from tests.drill.records.attempts import CALLS_PLAN, NOW, fill_record, record_session

EnterHome = Callable[[str], None]


def faintcall(name: str, *words: object) -> int:
    command = {"export": export, "import": import_}[name]
    parser = argparse.ArgumentParser()
    command.add(parser)
    return int(command.run(parser.parse_args([str(word) for word in words])))


@pytest.fixture
def filled_record(home: Path) -> tuple[str, str]:
    """Fill the record of the test's own home; return the ids of its two sessions."""
    return fill_record()


@pytest.fixture
def enter_home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> EnterHome:
    """Return a function that switches to the home of a name."""
    return lambda name: monkeypatch.setenv("FAINTCALL_HOME", str(tmp_path / name))


def rows_of_record() -> list[AttemptRow]:
    with Store(record_file()) as store:
        return list(attempt_rows(store))


def exported(path: Path) -> list[tuple[str, int]]:
    """Return kind of session and item number of every row of a JSON lines file."""
    lines = [json.loads(line) for line in path.read_text("utf-8").splitlines()]
    return [(line["mode"], line["number"]) for line in lines]


def test_the_schema_is_printed(capsys: pytest.CaptureFixture[str]) -> None:
    assert faintcall("export", "--schema") == 0
    assert capsys.readouterr().out.strip() == schema_text()


@pytest.mark.usefixtures("filled_record")
def test_whole_sessions_are_chosen_by_day_and_kind(tmp_path: Path) -> None:
    path = tmp_path / "out.jsonl"
    assert faintcall("export", path, "--since", "2026-04-01") == 0
    assert exported(path) == [("training", 0), ("training", 1)]
    assert faintcall("export", path, "--mode", "practice", "--force") == 0
    assert exported(path) == [("practice", number) for number in range(4)]
    with pytest.raises(UserError, match="of that kind and time"):
        faintcall("export", path, "--since", "2027-01-01", "--force")


@pytest.mark.usefixtures("filled_record")
@pytest.mark.parametrize(
    ("words", "message"),
    [
        (["out.txt"], "ending of out.txt"),
        (["out.csv", "--format", "xml"], "'xml'"),
        (["out.csv", "--since", "soon"], "'soon'"),
        (["out.csv", "--mode", "nothing"], "no recorded attempt"),
        (["no/such/out.csv"], "cannot be written"),
        ([], "give the file"),
    ],
)
def test_bad_options_are_refused_in_one_line(
    words: list[str], message: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    with pytest.raises(UserError, match=message) as caught:
        faintcall("export", *words)
    assert "\n" not in str(caught.value)


@pytest.mark.usefixtures("filled_record")
def test_an_existing_file_is_kept(tmp_path: Path) -> None:
    path = tmp_path / "out.csv"
    path.write_text("mine")
    with pytest.raises(UserError, match="already exists"):
        faintcall("export", path)
    assert path.read_text() == "mine"


@pytest.mark.parametrize("format_name", WRITERS)
@pytest.mark.usefixtures("filled_record")
def test_another_record_receives_every_attempt_once(
    format_name: str, tmp_path: Path, enter_home: EnterHome
) -> None:
    path = tmp_path / f"out.{format_name}"
    faintcall("export", path)
    rows = rows_of_record()
    enter_home("other")
    for _ in range(2):
        assert faintcall("import", path) == 0
        assert rows_of_record() == rows
    with Store(record_file()) as store:
        assert [Plan.from_dict(session.plan).seed for session in store.sessions()] == [5, 4]
        assert store.attempts(rows[0].session)[0].item == compose_item(CALLS_PLAN, 0)


def test_two_records_become_one(
    filled_record: tuple[str, str],
    tmp_path: Path,
    enter_home: EnterHome,
    capsys: pytest.CaptureFixture[str],
) -> None:
    path = tmp_path / "out.jsonl"
    faintcall("export", path)
    enter_home("other")
    plan = Plan(seed=9, count=2, mix="unassigned")
    with Store(record_file()) as store:
        own = record_session(store, plan, ["right"], now=NOW, mode="practice")
    capsys.readouterr()
    faintcall("import", path)
    assert "6 attempts were added, 0 were here already" in capsys.readouterr().out
    assert {row.session for row in rows_of_record()} == {*filled_record, own}


@pytest.mark.usefixtures("filled_record")
def test_a_damaged_file_changes_nothing(tmp_path: Path, enter_home: EnterHome) -> None:
    path = tmp_path / "out.jsonl"
    faintcall("export", path)
    lines = path.read_text("utf-8").splitlines()
    path.write_text("\n".join([*lines[:-1], "{}"]), "utf-8")
    enter_home("other")
    with pytest.raises(UserError, match=r"line 6: .*nothing was imported"):
        faintcall("import", path)
    assert rows_of_record() == []


def test_a_missing_file_is_refused(home: Path, tmp_path: Path) -> None:
    with pytest.raises(UserError, match="no file"):
        faintcall("import", tmp_path / "none.jsonl")
