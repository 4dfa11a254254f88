"""The command render: bad options, and an interrupted run."""

from pathlib import Path

import pytest

from drill.cli import main
from drill.itemsets import write

RENDER = ["render", "--seed", "7", "--mix", "unassigned", "--workers", "1"]


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (["--format", "mp3"], "format 'mp3' is unknown"),
        (["--workers", "-2"], "-2 workers"),
        (["--items", "-1"], "count -1 is out of range"),
    ],
)
def test_a_bad_option_is_refused(
    words: list[str], message: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main([*RENDER, "--to", str(tmp_path / "set"), *words]) == 2
    assert message in capsys.readouterr().err


def test_an_interrupted_run_says_that_finished_items_are_saved(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def interrupt(*_: object) -> str:
        raise KeyboardInterrupt

    monkeypatch.setattr(write, "_render_to_file", interrupt)
    assert main([*RENDER, "--to", str(tmp_path), "--items", "2"]) == 130
    assert "everything you finished is saved" in capsys.readouterr().err


def test_a_set_is_written_and_another_one_is_refused(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    command = [*RENDER, "--to", str(tmp_path), "--items", "1"]
    assert main(command) == 0
    assert "1 items, manifest.jsonl and sheet.html are in" in capsys.readouterr().out
    assert main([*command, "--snr", "5"]) == 2
    error = capsys.readouterr().err
    assert "holds another set" in error
    assert error.count("\n") == 1
