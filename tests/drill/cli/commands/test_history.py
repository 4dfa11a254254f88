"""faintcall history: the list of past sessions, and the answers of one session."""

import io
from datetime import UTC, datetime
from pathlib import Path

import pytest

from drill.cli import main
from drill.core.paths import record_file
from drill.records.store import Store
from tests.drill.session.example_kinds import EXAMPLE_KINDS
from tests.drill.simulated_trainee import record_session

COPY = ["copy", "--mix", "unassigned", "--voices", "tin", "--items", "1"]


@pytest.fixture
def two_sessions(home: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Record two sessions of one item each, at -3 dB and without noise."""
    with Store(record_file()) as store:
        store.set_seen("hearing", now=datetime.now(UTC))
    for snr in ("-3", "clean"):
        monkeypatch.setattr("sys.stdin", io.StringIO("E8ABC\n\n"))
        assert main([*COPY, "--snr", snr, "--audio-to", str(tmp_path)]) == 0


@pytest.mark.usefixtures("two_sessions")
def test_the_newest_session_comes_first_with_score_and_snr(
    capsys: pytest.CaptureFixture[str],
) -> None:
    capsys.readouterr()
    assert main(["history"]) == 0
    head, first, second = capsys.readouterr().out.splitlines()
    assert "SNR, 3 kHz" in head
    assert "clean" in first
    assert "-3.0 dB" in second
    assert "0 of 1" in second
    assert main(["history", "--last", "1"]) == 0
    assert len(capsys.readouterr().out.splitlines()) == 2


@pytest.mark.usefixtures("two_sessions")
def test_the_answers_of_a_session_are_shown(capsys: pytest.CaptureFixture[str]) -> None:
    capsys.readouterr()
    assert main(["history", "--items", "2"]) == 0
    (line,) = capsys.readouterr().out.splitlines()
    assert "wrong  sent" in line
    assert "typed E8ABC  -3.0 dB  tin" in line


@pytest.mark.usefixtures("two_sessions")
@pytest.mark.parametrize(
    ("words", "message"),
    [
        (["--items", "3"], "there is no session 3; the record holds sessions 1 to 2"),
        (["--items", "0"], "there is no session 0"),
        (["--last", "0"], "0 is out of range"),
    ],
)
def test_a_session_that_does_not_exist_is_refused(
    words: list[str], message: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["history", *words]) == 2
    assert message in capsys.readouterr().err


def test_scores_of_an_unfinished_measurement_are_withheld(
    home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with Store(record_file()) as store:
        record_session(store, EXAMPLE_KINDS["measurement"], most=9)
        record_session(store, EXAMPLE_KINDS["quick-check"], day=1)
    assert main(["history"]) == 0
    _, check, measurement = capsys.readouterr().out.splitlines()
    assert "measurement" in measurement
    assert "by answers" in measurement
    assert measurement.endswith("9 answered")
    assert "quick-check" in check
    assert " of 30" in check
    assert main(["history", "--items", "2"]) == 2
    assert "session 2 is not finished" in capsys.readouterr().err
    assert main(["history", "--items", "1"]) == 0


def test_an_empty_record_says_how_to_start(home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["history"]) == 0
    assert "faintcall copy" in capsys.readouterr().out


@pytest.mark.usefixtures("two_sessions")
def test_a_session_is_deleted_only_after_yes(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("sys.stdin", io.StringIO("no\n"))
    assert main(["history", "--delete", "1"]) == 0
    assert "Nothing is deleted." in capsys.readouterr().out
    monkeypatch.setattr("sys.stdin", io.StringIO("yes\n"))
    assert main(["history", "--delete", "1"]) == 0
    assert "The session is deleted." in capsys.readouterr().out
    with Store(record_file()) as store:
        (left,) = store.sessions()
        assert store.attempts(left.id)[0].item.conditions.snr_db == -3
    assert main(["history", "--delete", "2"]) == 2
    assert "there is no session 2" in capsys.readouterr().err
