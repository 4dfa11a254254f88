"""faintcall today: its recommendation, and the session that it begins."""

import io
from datetime import UTC, datetime
from pathlib import Path

import pytest

from drill.cli import main
from drill.core.paths import record_file
from drill.records.store import Store


@pytest.fixture
def confirmed(home: Path) -> None:
    with Store(record_file()) as store:
        store.set_seen("hearing", now=datetime.now(UTC))


@pytest.mark.usefixtures("confirmed")
def test_a_newcomer_begins_with_first_steps(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("sys.stdin", io.StringIO("E8\n\ns\n"))
    assert main(["today", "--audio-to", str(tmp_path)]) == 0
    output = capsys.readouterr().out
    assert "your first ten minutes." in output
    assert "30 items: the first without noise, then from 15 to -3 dB" in output
    assert "Continue with: faintcall copy --continue" in output
    with Store(record_file()) as store:
        (session,) = store.sessions()
    assert session.mode == "first-steps"


@pytest.mark.usefixtures("confirmed")
def test_the_sending_drill_is_named_with_its_command(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    from drill.cli.commands import today as command
    from drill.session.today import OLD_TAKE, Recommendation

    monkeypatch.setattr(
        command, "recommend", lambda *_, **__: Recommendation(reason=OLD_TAKE, kind=None, days=30)
    )
    assert main(["today"]) == 0
    output = capsys.readouterr().out
    assert "You last practised sending 30 days ago." in output
    assert "Begin with: faintcall speak" in output
