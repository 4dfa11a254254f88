"""The end of practice in the terminal: the costliest labels can be heard and practised."""

import io
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest

from drill.cli import main
from drill.cli.audio_out import FileOutput
from drill.cli.ending import print_week, review_costliest
from drill.core.audio_files import read_audio
from drill.core.paths import record_file
from drill.items.plan import Plan
from drill.records.store import Store
from drill.session.kinds.practice import Practice
from tests.drill.simulated_trainee import START, SimulatedTrainee, record_session


@pytest.fixture
def store(home: Path) -> Iterator[Store]:
    """Return a record of a trainee for whom E is hard; the caution is confirmed."""
    plan = Plan(seed=3, count=150, mix="unassigned", voices=("birch",), alternates=0.0)
    with Store(record_file()) as opened:
        opened.set_seen("hearing", now=datetime.now(UTC))
        record_session(opened, Practice(plan=plan), SimulatedTrainee(x50_db=-2.0, hard={"E": 8.0}))
        yield opened


def type_lines(monkeypatch: pytest.MonkeyPatch, *lines: str) -> None:
    monkeypatch.setattr("sys.stdin", io.StringIO("".join(line + "\n" for line in lines)))


def test_the_costliest_labels_can_be_heard_and_practised(
    store: Store,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    type_lines(monkeypatch, "1", "1c", "9", "p")
    assert review_costliest(store, FileOutput(tmp_path))
    output = capsys.readouterr().out
    assert "What cost you most" in output
    assert "dB more than the average" in output
    assert "Unknown key '9'." in output
    noisy, clean = (read_audio(tmp_path / f"costliest-{key}.wav") for key in ("1", "1c"))
    assert noisy.seconds == pytest.approx(clean.seconds, abs=0.01)
    assert 0.2 < noisy.seconds < 1.5


def test_no_question_is_asked_without_a_costly_label(
    home: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with Store(record_file()) as empty:
        assert not review_costliest(empty, FileOutput(tmp_path))
    assert capsys.readouterr().out == ""


def test_this_week_is_compared_with_the_week_before(
    home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Half of the characters at -4 dB, then at -12 dB, a week later."""
    today = (datetime.now(UTC) - START).days
    with Store(record_file()) as record:
        for seed, day, x50_db in ((1, today - 9, -4.0), (2, today - 2, -12.0)):
            plan = Plan(seed=seed, count=40, mix="unassigned", voices=("birch",))
            trainee = SimulatedTrainee(seed, x50_db)
            record_session(record, Practice(plan=plan), trainee, day=day)
            print_week(plan, record)
    output = capsys.readouterr().out
    assert output.count("the week before it was") == 1
    assert "from 40 items this week and 40 the week before" in output


def test_p_after_a_session_begins_a_training(
    store: Store,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    type_lines(monkeypatch, ".", "", "p", "s")
    command = "copy --items 1 --seed 4 --mix unassigned --voices birch --audio-to"
    assert main([*command.split(), str(tmp_path)]) == 0
    output = capsys.readouterr().out
    assert output.count("What cost you most") == 1
    assert "12 items: SNR set by your answers" in output
