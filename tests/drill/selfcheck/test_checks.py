"""All checks pass on this computer; their limits are sourced in drill.selfcheck."""

import pytest

from drill.selfcheck.checks import SELF_CHECKS, StageCheck
from drill.selfcheck.noise import check_noise
from drill.selfcheck.repeatability import check_repeatability
from drill.selfcheck.snr import check_snr

LONG = (check_noise, check_repeatability, check_snr)


@pytest.mark.parametrize(
    "check",
    [pytest.param(c, marks=pytest.mark.slow if c in LONG else ()) for c in SELF_CHECKS],
    ids=lambda check: check.__name__,
)
def test_every_value_is_within_its_limits(check: StageCheck) -> None:
    figures = list(check())
    assert figures
    assert [figure for figure in figures if not figure.passed] == []
