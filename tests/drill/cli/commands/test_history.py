"""The list of past sittings."""

import io
from datetime import UTC, datetime

import pytest

from drill.cli import main
from drill.core.paths import record_file
from drill.records.store import Store

DRILL = ["copy", "--mix", "unassigned", "--voices", "tin", "--items", "1"]


@pytest.fixture
def two_sittings(home: object, tmp_path: object, monkeypatch: pytest.MonkeyPatch) -> None:
    with Store(record_file()) as store:
        store.set_seen("hearing", now=datetime.now(UTC))
    for snr in ("-3", "clean"):
        monkeypatch.setattr("sys.stdin", io.StringIO("E8ABC\n\n"))
        assert main([*DRILL, "--snr", snr, "--audio-to", str(tmp_path)]) == 0


@pytest.mark.usefixtures("two_sittings")
def test_newest_first_with_score_and_snr(capsys: pytest.CaptureFixture[str]) -> None:
    capsys.readouterr()
    assert main(["history"]) == 0
    head, first, second = capsys.readouterr().out.splitlines()
    assert "SNR, 3 kHz" in head
    assert "clean" in first
    assert "-3.0 dB" in second
    assert "0 of 1" in second
    assert main(["history", "--last", "1"]) == 0
    assert len(capsys.readouterr().out.splitlines()) == 2


@pytest.mark.usefixtures("two_sittings")
def test_the_answers_of_a_sitting(capsys: pytest.CaptureFixture[str]) -> None:
    capsys.readouterr()
    assert main(["history", "--items", "2"]) == 0
    (line,) = capsys.readouterr().out.splitlines()
    assert "wrong  sent" in line
    assert "typed E8ABC  -3.0 dB  tin" in line


@pytest.mark.usefixtures("two_sittings")
@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["--items", "3"], "no sitting 3"),
        (["--items", "0"], "no sitting 0"),
        (["--last", "0"], "0"),
    ],
)
def test_what_is_not_there(words: list[str], told: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["history", *words]) == 2
    assert told in capsys.readouterr().err


def test_an_empty_record_says_how_to_start(
    home: object, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["history"]) == 0
    assert "faintcall copy" in capsys.readouterr().out
