"""faintcall choices lists every name that an option takes, in lines that fit a screen."""

from pathlib import Path

import pytest

from drill.cli import main
from drill.voices.people.roster import ROSTER


def test_the_list_of_operators_fits_a_screen(
    home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["choices"]) == 0
    text = capsys.readouterr().out
    assert all(operator.name in text for operator in ROSTER)
    lines = text[text.index("Operators of the group bundled") :].splitlines()
    assert len(lines) < len(ROSTER)
    assert max(map(len, lines)) <= 80
