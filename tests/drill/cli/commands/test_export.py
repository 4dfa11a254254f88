"""The command export: the attempts that it writes, and the options that it rejects."""

import argparse
import json
from pathlib import Path

import pytest

from drill.cli.commands import export
from drill.core.errors import UserError
from drill.core.paths import record_file
from drill.hunt.acts import END, HuntAct
from drill.hunt.sessions import HuntSession
from drill.items.plan import Plan
from drill.records.schema import schema_text
from drill.records.store import Store
from tests.drill.hunt.simple_hunter import make_setup
from tests.drill.records.attempts import NOW, fill_record, record_session


def run_export(*words: object) -> int:
    parser = argparse.ArgumentParser()
    export.add(parser)
    return export.run(parser.parse_args([str(word) for word in words]))


@pytest.fixture
def filled_record(home: Path) -> tuple[str, str]:
    """Fill the record of the test's own home; return the ids of its two sessions."""
    return fill_record()


def exported(path: Path) -> list[tuple[str, int]]:
    """Return kind of session and item number of every row of a JSON lines file."""
    lines = [json.loads(line) for line in path.read_text("utf-8").splitlines()]
    return [(line["mode"], line["number"]) for line in lines]


def test_the_schema_is_printed(capsys: pytest.CaptureFixture[str]) -> None:
    assert run_export("--schema") == 0
    assert capsys.readouterr().out.strip() == schema_text()


@pytest.mark.usefixtures("filled_record")
def test_whole_sessions_are_chosen_by_day_and_kind(tmp_path: Path) -> None:
    path = tmp_path / "out.jsonl"
    assert run_export(path, "--since", "2026-04-01") == 0
    assert exported(path) == [("training", 0), ("training", 1)]
    assert run_export(path, "--mode", "practice", "--force") == 0
    assert exported(path) == [("practice", number) for number in range(4)]
    with pytest.raises(UserError, match="match --since and --mode"):
        run_export(path, "--since", "2027-01-01", "--force")


@pytest.mark.parametrize("kind_name", ["measurement", "measuring"])
def test_a_kind_is_found_by_its_name_and_by_the_stored_name(
    kind_name: str, home: Path, tmp_path: Path
) -> None:
    path = tmp_path / "out.jsonl"
    with Store(record_file()) as store:
        plan = Plan(seed=9, count=2, mix="unassigned")
        record_session(store, plan, ["right"], now=NOW, mode="measuring")
    assert run_export(path, "--mode", kind_name) == 0
    assert exported(path) == [("measuring", 0)]


@pytest.mark.usefixtures("filled_record")
@pytest.mark.parametrize(
    ("words", "message"),
    [
        (["out.txt"], "ending of out.txt"),
        (["out.csv", "--format", "xml"], "'xml'"),
        (["out.csv", "--since", "soon"], "'soon' is not a date"),
        (["out.csv", "--mode", "nothing"], "no attempts"),
        (["no/such/out.csv"], "cannot be written"),
        ([], "give the file"),
    ],
)
def test_bad_options_are_refused_in_one_line(
    words: list[str], message: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    with pytest.raises(UserError, match=message) as caught:
        run_export(*words)
    assert "\n" not in str(caught.value)


@pytest.mark.usefixtures("filled_record")
def test_an_existing_file_is_kept_unless_forced(tmp_path: Path) -> None:
    path = tmp_path / "out.csv"
    path.write_text("mine")
    with pytest.raises(UserError, match=r"already exists; .*, or replace it with --force"):
        run_export(path)
    assert path.read_text() == "mine"
    assert run_export(path, "--force") == 0
    assert path.read_text("utf-8").startswith("schema,")


@pytest.mark.usefixtures("home")
def test_an_empty_record_is_called_empty(tmp_path: Path) -> None:
    with pytest.raises(UserError, match="nothing is recorded yet"):
        run_export(tmp_path / "out.csv")


def test_hunts_are_written_without_the_own_call_unless_asked_for(
    home: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(UserError, match="no finished hunt"):
        run_export(tmp_path / "hunts.csv", "--hunts")
    with Store(record_file()) as store:
        session = HuntSession.begin(make_setup(), store, now=NOW)
        session.act(HuntAct(at=0, kind=END))
        session.result()
    path = tmp_path / "hunts.csv"
    assert run_export(path, "--hunts") == 0
    assert "E87ABC" not in path.read_text("utf-8")
    with pytest.raises(UserError, match="--force"):
        run_export(path, "--hunts")
    assert run_export(path, "--hunts", "--own-call", "--force") == 0
    assert "E87ABC" in path.read_text("utf-8")
    with pytest.raises(UserError, match="--since"):
        run_export(path, "--hunts", "--since", "2026-01-01", "--force")
    capsys.readouterr()
    assert run_export("--schema", "--hunts") == 0
    assert "same_band" in capsys.readouterr().out
