"""The options that a comparison can vary: each change gives the same plan as its option."""

from pathlib import Path
from typing import Any

import pytest

from drill.core.errors import UserError
from drill.session.changes import CHANGES
from drill.session.options import SessionOptions, plan_from_options
from tests.drill.session.example_kinds import PLAN

OPTIONS: dict[str, tuple[str, dict[str, Any]]] = {
    "conditions": ("town-evening", {"conditions": "town-evening"}),
    "fading": ("mid-disturbed", {"fading": "mid-disturbed"}),
    "filter": ("1800+200", {"filter": "1800+200"}),
    "processing": ("clipped", {"processing": "clipped"}),
    "voices": ("rivet+tin", {"voices": ("rivet", "tin")}),
    "alternates": ("0.5", {"alternates": 0.5}),
    "exchange": ("zone-itu", {"exchange": "zone-itu", "part": "exchange"}),
    "mix": ("world", {"mix": "world"}),
}
"""A value for each change, and the equivalent session options."""


@pytest.mark.parametrize("name", CHANGES)
def test_a_change_gives_the_plan_of_the_option(name: str, home: Path) -> None:
    value, options = OPTIONS[name]
    plan = {"seed": 5, "count": 30, "mix": "unassigned", "voices": ("tin", "wren"), "snr_db": 0.0}
    expected = plan_from_options(SessionOptions(**{**plan, **options}))
    changed = CHANGES[name].apply(PLAN, value)
    same = {"conditions"} if name == "conditions" else set()
    for field in PLAN.to_dict().keys() - same:
        ours, theirs = getattr(changed, field), getattr(expected, field)
        if field == "conditions":
            assert (
                ours.sentence_without_snr.split(", ")[-1]
                == (theirs.sentence_without_snr.split(", ")[-1])
            )
            assert (ours.fading, ours.receiver, ours.transmitter) == (
                theirs.fading,
                theirs.receiver,
                theirs.transmitter,
            )
        else:
            assert ours == theirs, field
    assert changed != PLAN


@pytest.mark.parametrize(
    ("name", "value", "message"),
    [
        ("conditions", "../x", "'../x'"),
        ("fading", "fog", "'fog'"),
        ("filter", "narrow!", "'narrow!'"),
        ("processing", "loud", "'loud'"),
        ("voices", "nobody", "'nobody'"),
        ("alternates", "lots", "'lots'"),
        ("alternates", "2", "2 is out of range"),
        ("exchange", "nowhere", "nowhere"),
        ("mix", "moon", "'moon'"),
    ],
)
def test_a_value_that_cannot_be_used_is_refused(
    name: str, value: str, message: str, home: Path
) -> None:
    with pytest.raises(UserError, match=message.replace("/", ".").replace("..", r"\.\.")):
        CHANGES[name].apply(PLAN, value)
