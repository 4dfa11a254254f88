"""faintcall help: the list of topics, a page as plain text, an unknown topic."""

import pytest

from drill.cli import main
from drill.manual import TOPICS


def test_the_list_names_every_topic(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["help"]) == 0
    lines = capsys.readouterr().out.splitlines()[1:]
    assert [line.split()[0] for line in lines] == list(TOPICS)


def test_a_page_is_printed_without_link_targets(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["help", "copy"]) == 0
    out = capsys.readouterr().out
    assert out.startswith("# Copying")
    assert "](" not in out
    assert "<!--" not in out


def test_an_unknown_topic_is_refused_in_one_line(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["help", "soup"]) == 2
    assert capsys.readouterr().err.startswith(
        "faintcall: Unknown topic 'soup'. Choose one of start"
    )
