from pathlib import Path

import pytest

from drill.cli.hunt_club import print_club
from drill.hunt.exports import write_hunts
from tests.drill.hunt.test_club import row


def test_hunts_on_the_same_band_are_compared(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    paths = [tmp_path / "anna.csv", tmp_path / "ben.jsonl"]
    write_hunts(paths[0], [row(right=12, score=36)])
    write_hunts(paths[1], [row(right=9, score=50)])
    print_club(paths)
    shown = capsys.readouterr().out
    assert shown.index("ben") < shown.index("anna")
    assert "may be luck" in shown


def test_files_without_a_common_band_are_reported(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    paths = [tmp_path / "anna.csv", tmp_path / "ben.csv"]
    write_hunts(paths[0], [row(band="a")])
    write_hunts(paths[1], [row(band="b")])
    print_club(paths)
    assert "No two of these files" in capsys.readouterr().out
