"""A plan holds the names of its operators; groups are expanded."""

from pathlib import Path

import pytest

from drill.cli import parser
from drill.cli.options import plan_from
from drill.voices.people.roster import ROSTER


@pytest.mark.parametrize("line", ["copy", "copy --voices bundled", "copy --voices slate,bundled"])
def test_a_plan_names_the_members_of_a_group(line: str, home: Path) -> None:
    easy_names = {operator.name for operator in ROSTER if not operator.hard}
    plan = plan_from(parser().parse_args(line.split()))
    assert set(plan.voices) == easy_names
    assert len(plan.voices) == len(easy_names)
