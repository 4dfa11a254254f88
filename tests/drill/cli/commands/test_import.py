"""The command import: exported attempts join another record, once and completely."""

import argparse
from collections.abc import Callable
from pathlib import Path
from types import ModuleType

import pytest

from drill.cli.commands import export, import_
from drill.core.errors import UserError
from drill.core.paths import record_file
from drill.items.plan import Plan, compose_item
from drill.records.rows import AttemptRow, attempt_rows
from drill.records.store import Store
from drill.records.writing import WRITERS
from tests.drill.records.attempts import CALLS_PLAN, NOW, fill_record, record_session

EnterHome = Callable[[str], None]


def run_command(command: ModuleType, path: Path) -> int:
    parser = argparse.ArgumentParser()
    command.add(parser)
    return int(command.run(parser.parse_args([str(path)])))


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


@pytest.mark.parametrize("format_name", WRITERS)
@pytest.mark.usefixtures("filled_record")
def test_another_record_receives_every_attempt_once(
    format_name: str, tmp_path: Path, enter_home: EnterHome
) -> None:
    path = tmp_path / f"out.{format_name}"
    run_command(export, path)
    rows = rows_of_record()
    enter_home("other")
    for _ in range(2):
        assert run_command(import_, path) == 0
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
    run_command(export, path)
    enter_home("other")
    plan = Plan(seed=9, count=2, mix="unassigned")
    with Store(record_file()) as store:
        own = record_session(store, plan, ["right"], now=NOW, mode="practice")
    capsys.readouterr()
    run_command(import_, path)
    assert "Added 6 attempts; already in your record: 0." in capsys.readouterr().out
    assert {row.session for row in rows_of_record()} == {*filled_record, own}


@pytest.mark.usefixtures("filled_record")
def test_a_damaged_file_changes_nothing(tmp_path: Path, enter_home: EnterHome) -> None:
    path = tmp_path / "out.jsonl"
    run_command(export, path)
    lines = path.read_text("utf-8").splitlines()
    path.write_text("\n".join([*lines[:-1], "{}"]), "utf-8")
    enter_home("other")
    with pytest.raises(UserError, match=r"line 6: .*nothing was imported"):
        run_command(import_, path)
    assert rows_of_record() == []


@pytest.mark.usefixtures("home")
def test_a_missing_file_is_refused(tmp_path: Path) -> None:
    with pytest.raises(UserError, match="no file"):
        run_command(import_, tmp_path / "none.jsonl")
