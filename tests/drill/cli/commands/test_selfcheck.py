"""faintcall selfcheck: the printed table, and its exit code."""

import pytest

from drill.cli import main
from drill.cli.commands import selfcheck
from drill.radio import fading
from drill.selfcheck.fading import check_delay
from drill.selfcheck.power import check_power


def test_values_and_limits_are_printed(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(selfcheck, "SELF_CHECKS", (check_power, check_delay))
    assert main(["selfcheck"]) == 0
    out = capsys.readouterr().out
    assert "-6.990   -6.9907 to -6.9887" in out
    assert "6 of 6 values are within their limits." in out


def test_a_value_outside_its_limits_is_marked_and_sets_the_exit_code(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(selfcheck, "SELF_CHECKS", (check_delay,))
    monkeypatch.setattr(fading, "_fractional_delay_filter", lambda shift: None)
    assert main(["selfcheck"]) == 1
    out = capsys.readouterr().out
    assert "FAILED second path, delay of 1.3 ms" in out
    assert "3 of 4 values are within their limits." in out
