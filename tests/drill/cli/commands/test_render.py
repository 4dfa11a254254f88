"""The command render: bad options, and an interrupted run."""

from pathlib import Path

import pytest

from drill.cli import main
from drill.items.plan import Plan
from drill.itemsets import write

RENDER = ["render", "--seed", "7", "--mix", "unassigned", "--workers", "1"]


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (["--format", "mp3"], "format 'mp3' is unknown"),
        (["--workers", "-2"], "-2 workers"),
        (["--track", "0"], "pause 0 s is out of range"),
        (["--people", "0"], "number of answer sheets 0 is out of range"),
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
    assert "1 item, manifest.jsonl, sheet.html and key.html are in" in capsys.readouterr().out
    assert main([*command, "--snr", "5"]) == 2
    error = capsys.readouterr().err
    assert "holds another set" in error
    assert error.count("\n") == 1


def test_a_run_without_a_seed_continues_when_it_is_repeated(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    command = ["render", "--mix", "unassigned", "--workers", "1", "--items", "2"]
    command += ["--voices", "tin", "--to", str(tmp_path)]
    render_to_file = write._render_to_file

    def interrupt_second(plan: Plan, number: int, folder: Path, format_name: str) -> str:
        if number:
            raise KeyboardInterrupt
        return render_to_file(plan, number, folder, format_name)

    with monkeypatch.context() as patch:
        patch.setattr(write, "_render_to_file", interrupt_second)
        assert main(command) == 130
    first = (tmp_path / "item-0001.flac").read_bytes()
    plan = (tmp_path / "plan.json").read_text()
    assert main(command) == 0
    assert (tmp_path / "plan.json").read_text() == plan
    assert (tmp_path / "item-0001.flac").read_bytes() == first
    assert len((tmp_path / "manifest.jsonl").read_text().splitlines()) == 2
    capsys.readouterr()
    assert main([*command, "--seed", "1"]) == 2
    assert "holds another set" in capsys.readouterr().err


@pytest.mark.parametrize("text", ["", "[]", '{"plan": {"seed": "x"}}', '{"plan": 5}', "[" * 5000])
def test_a_folder_with_a_damaged_plan_is_not_continued(
    text: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "plan.json").write_text(text)
    assert main(["render", "--items", "1", "--to", str(tmp_path)]) == 2
    assert "holds another set" in capsys.readouterr().err
    assert (tmp_path / "plan.json").read_text() == text
