"""faintcall people, and --person before any command."""

import io
import os
from datetime import UTC, datetime
from pathlib import Path

import pytest

from drill.cli import main
from drill.core.paths import record_of
from drill.records.store import Store

pytestmark = pytest.mark.usefixtures("home")
COPY = ["copy", "--items", "1", "--seed", "4", "--mix", "unassigned", "--voices", "birch"]


def practise(person: str, folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    record_of(person).parent.mkdir(parents=True, exist_ok=True)
    with Store(record_of(person)) as store:
        store.set_seen("hearing", now=datetime.now(UTC))
    monkeypatch.setattr("sys.stdin", io.StringIO("E8\n\n"))
    assert main(["--person", person, *COPY, "--audio-to", str(folder)]) == 0


def test_each_person_has_a_record_and_they_are_compared(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    practise("Anna", tmp_path, monkeypatch)
    practise("Bo", tmp_path, monkeypatch)
    assert "FAINTCALL_PERSON" not in os.environ
    assert not record_of("").is_file()
    capsys.readouterr()
    assert main(["people"]) == 0
    head, anna, bo = capsys.readouterr().out.splitlines()
    assert head.split()[:2] == ["name", "answers"]
    assert anna.split()[:3] == ["Anna", "1", "0"]
    assert bo.split()[0] == "Bo"


def test_a_record_is_removed_only_after_its_name_is_repeated(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    practise("Anna", tmp_path, monkeypatch)
    monkeypatch.setattr("sys.stdin", io.StringIO("yes\n"))
    assert main(["people", "--remove", "Anna"]) == 2
    assert record_of("Anna").is_file()
    monkeypatch.setattr("sys.stdin", io.StringIO("Anna\n"))
    assert main(["people", "--remove", "Anna"]) == 0
    assert not record_of("Anna").exists()
    capsys.readouterr()
    assert main(["people"]) == 0
    assert "Nobody has a record yet." in capsys.readouterr().out


def test_a_name_that_is_not_possible_is_refused(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["--person", "../x", "history"]) == 2
    assert "the name '../x' is not possible" in capsys.readouterr().err
