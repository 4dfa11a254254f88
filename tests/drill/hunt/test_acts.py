"""The acts of a hunt check themselves."""

import pytest

from drill.core.errors import UserError
from drill.hunt.acts import END, TUNE, HuntAct


def test_an_act_with_a_wrong_kind_or_frequency_is_refused() -> None:
    with pytest.raises(UserError, match="'jump'"):
        HuntAct(at=0, kind="jump")
    with pytest.raises(UserError, match="hz None"):
        HuntAct(at=0, kind=TUNE)
    with pytest.raises(UserError, match=r"hz 14200000\.0"):
        HuntAct(at=0, kind=END, hz=14_200_000.0)
