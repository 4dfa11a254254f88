"""All checks pass on this computer; their limits are sourced in drill.selfcheck."""

import pytest

from drill.selfcheck.checks import SELF_CHECKS, StageCheck


@pytest.mark.parametrize("check", SELF_CHECKS, ids=lambda check: check.__name__)
def test_every_value_is_within_its_limits(check: StageCheck) -> None:
    figures = list(check())
    assert figures
    assert [figure for figure in figures if not figure.passed] == []
