"""A table is written between its marks and the text around it stays."""

from pathlib import Path

import pytest

from drill.core.errors import UserError
from tests.tools.tables import write_table


def test_the_table_is_replaced_between_its_marks(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "page.md"
    file.write_text("before\n<!-- x -->\nold\n<!-- /x -->\nafter\n")
    write_table(str(file), "x", ["| a |", "| b |"])
    assert file.read_text() == "before\n<!-- x -->\n| a |\n| b |\n<!-- /x -->\nafter\n"
    assert capsys.readouterr().out == "| a |\n| b |\n"


def test_without_a_file_the_table_is_only_printed(capsys: pytest.CaptureFixture[str]) -> None:
    write_table(None, "x", ["| a |"])
    assert capsys.readouterr().out == "| a |\n"


def test_a_file_without_marks_is_refused_and_unchanged(tmp_path: Path) -> None:
    file = tmp_path / "page.md"
    file.write_text("<!-- x -->\n")
    with pytest.raises(UserError, match="lacks the lines <!-- x -->"):
        write_table(str(file), "x", [])
    assert file.read_text() == "<!-- x -->\n"
    with pytest.raises(UserError, match="cannot be read"):
        write_table(str(tmp_path / "none.md"), "x", [])
