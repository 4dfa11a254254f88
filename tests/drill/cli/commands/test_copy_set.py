"""faintcall copy --set: type the answers to a rendered set."""

import io
from datetime import UTC, datetime
from pathlib import Path

import pytest

from drill.cli import main
from drill.core.paths import record_file
from drill.items.plan import compose_item
from drill.records.store import Store
from tests.drill.itemsets.test_write import CALLS, write_all


@pytest.fixture
def folder(home: Path, tmp_path: Path) -> Path:
    """Return the folder of a rendered set of four calls; the caution is confirmed."""
    with Store(record_file()) as store:
        store.set_seen("hearing", now=datetime.now(UTC))
    write_all(CALLS, tmp_path / "set")
    return tmp_path / "set"


def test_the_answers_to_a_set_are_scored_without_a_sound_card(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    right = compose_item(CALLS, 0).message.call
    monkeypatch.setattr("sys.stdin", io.StringIO(f"{right}\n\nE8\n\n.\n\n.\n\n"))
    assert main(["copy", "--set", str(folder), "--without-sound"]) == 0
    output = capsys.readouterr().out
    assert "4 items: SNR 0 dB in 3 kHz, steady path, seed 7." in output
    assert "It sounds in the room; nothing is played here." in output
    assert "1 of 4 right on first hearing" in output
    with Store(record_file()) as store:
        (session,) = store.sessions()
        assert [attempt.right for attempt in store.attempts(session.id)] == [True] + 3 * [False]


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (["--snr", "3"], "leave out every other option (option --snr)"),
        (["--train"], "leave out every other option (option --kind)"),
        (["--continue"], "leave out --set"),
    ],
)
def test_other_options_are_refused(
    words: list[str], message: str, folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["copy", "--set", str(folder), *words]) == 2
    assert message in capsys.readouterr().err
    with Store(record_file()) as store:
        assert not store.sessions()


def test_a_folder_without_a_set_is_refused(
    home: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["copy", "--set", str(tmp_path)]) == 2
    assert "does not contain a readable set of items" in capsys.readouterr().err
