"""The command choices lists every name that an option accepts, in lines that fit a screen."""

import pytest

from drill.cli import main
from drill.radio.presets import preset_names
from drill.voices.people.roster import ROSTER
from phonetics.callsign_mixes import CALLSIGN_MIXES
from phonetics.exchanges import exchange_names


@pytest.fixture
def listed(home: None, capsys: pytest.CaptureFixture[str]) -> str:
    """Return what the command prints."""
    assert main(["choices"]) == 0
    return capsys.readouterr().out


def test_exchanges_mixes_and_conditions_are_listed(listed: str) -> None:
    words = listed.replace(",", " ").split()
    for name in (*exchange_names(), *CALLSIGN_MIXES, *preset_names()):
        assert name in words


def test_the_list_of_operators_fits_a_screen(listed: str) -> None:
    assert all(operator.name in listed for operator in ROSTER)
    lines = listed[listed.index("Operators of the group natural") :].splitlines()
    assert len(lines) < len(ROSTER)
    assert max(map(len, lines)) <= 80
