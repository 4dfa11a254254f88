"""The caution is shown once, and again until it is confirmed."""

import io
from pathlib import Path

import pytest

from drill.cli.caution import CAUTION, confirm_caution
from drill.core.errors import UserError
from drill.records.store import Store


def test_the_caution_is_shown_until_it_is_confirmed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    with Store(tmp_path / "record") as store:
        monkeypatch.setattr("sys.stdin", io.StringIO(""))
        with pytest.raises(UserError):
            confirm_caution(store)
        monkeypatch.setattr("sys.stdin", io.StringIO("\n"))
        confirm_caution(store)
        assert " ".join(capsys.readouterr().out.split()).count(" ".join(CAUTION)) == 2
        confirm_caution(store)
        assert capsys.readouterr().out == ""


def test_the_caution_names_hearing_licence_and_practice_audio() -> None:
    for words in ("protect your hearing", "with a licence", "never put practice audio on the air"):
        assert words in " ".join(CAUTION)
