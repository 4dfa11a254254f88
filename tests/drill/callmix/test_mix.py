"""A learned mix draws prefixes as in the log, and never a call of the log."""

import json
from collections import Counter
from pathlib import Path
from random import Random

import pytest

from drill.callmix.mix import LearnedMix
from drill.callmix.storage import find_learned_mix, save_learned_mix
from drill.core.errors import UserError
from drill.core.structuring import from_data
from drill.items.plan import Plan, compose_item
from phonetics.callsign_mixes import compose_callsign
from phonetics.callsigns import is_valid_callsign, parse_callsign
from tests.drill.callmix.invented_logs import (
    own_call,
)


def test_a_call_of_the_log_is_never_drawn(worked: list[str], mix: LearnedMix) -> None:
    rng = Random(5)
    bases = {parse_callsign(call).base for call in (*worked, own_call())}
    assert all(mix.is_taken(base) for base in bases)
    for _ in range(4000):
        call = compose_callsign(rng, mix=mix, strokes=0.3)
        assert call.base not in bases
        assert is_valid_callsign(call.text)


def test_prefixes_are_as_frequent_as_in_the_log(worked: list[str], mix: LearnedMix) -> None:
    rng = Random(7)
    drawn = Counter(compose_callsign(rng, mix=mix, strokes=0).holder for _ in range(6000))
    heard = Counter(
        parse_callsign(base).holder for base in {parse_callsign(call).base for call in worked}
    )
    for holder, count in heard.most_common(6):
        assert drawn[holder] / 6000 == pytest.approx(count / heard.total(), abs=0.03), holder


def test_a_plan_gives_the_same_items_after_the_file_is_deleted(
    worked: list[str], mix: LearnedMix, home: Path
) -> None:
    path = save_learned_mix(mix, {}, overwrite=False)
    stored = find_learned_mix("mine")
    plan = Plan(seed=3, mix="mine", learned=stored, part="over")
    items = [compose_item(plan, number) for number in range(8)]
    path.unlink()
    again = Plan.from_dict(json.loads(json.dumps(plan.to_dict())))
    assert again == plan
    assert [compose_item(again, number) for number in range(8)] == items
    assert stored == mix


def test_a_plan_stored_before_learned_mixes_existed_is_read() -> None:
    data = Plan(seed=3).to_dict()
    del data["learned"]
    assert Plan.from_dict(data) == Plan(seed=3)


def test_a_plan_names_its_learned_mix(mix: LearnedMix) -> None:
    for name in ("world", "other"):
        with pytest.raises(UserError, match=f"'{name}' is unknown; choose one of mine"):
            Plan(seed=1, mix=name, learned=mix)


def test_a_filter_that_excludes_everything_is_refused(mix: LearnedMix) -> None:
    data = {"name": "mine", "shares": [{"stations": 9, "region": "world"}], "salt": mix.salt}
    with pytest.raises(UserError, match="excludes nearly all calls"):
        from_data(LearnedMix, {**data, "taken": "ff"})
