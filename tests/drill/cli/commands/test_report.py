"""faintcall report."""

from pathlib import Path

import pytest

from drill.cli import main
from drill.core.paths import record_file
from drill.records.store import Store
from drill.report.files import PAGE_FILE
from drill.session.kinds.measurement import Measurement
from tests.drill.machine_copies import copy_without_sound
from tests.drill.report.sample_record import make_plan, save_session
from tests.drill.simulated_trainee import SimulatedTrainee


def test_the_command_writes_a_report_of_the_users_record(
    home: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with Store(record_file()) as store:
        save_session(store, Measurement.from_plan(make_plan(1), store), SimulatedTrainee(), 0)
    folder = tmp_path / "folder"
    assert main(["report", "--to", str(folder)]) == 0
    page = folder / PAGE_FILE
    assert f"45 answers, 0.1 hours: the report is {page}" in capsys.readouterr().out
    assert page.exists()


@pytest.mark.slow
def test_the_report_shows_the_machine_on_request(
    home: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    copy_without_sound(monkeypatch)
    with Store(record_file()) as store:
        save_session(store, Measurement.from_plan(make_plan(1), store), SimulatedTrainee(), 0)
    folder = tmp_path / "folder"
    assert main(["report", "--to", str(folder)]) == 0
    assert "faintcall report --machine" in capsys.readouterr().out
    assert main(["report", "--machine", "--to", str(folder)]) == 0
    assert "--machine" not in capsys.readouterr().out
    assert "silent 1" in (folder / PAGE_FILE).read_text("utf-8")


def test_an_empty_record_is_an_error(
    home: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["report", "--to", str(tmp_path / "folder")]) == 2
    assert "the record is empty" in capsys.readouterr().err
    assert not (tmp_path / "folder").exists()
