"""Items and scores survive JSON and keep the released key names."""

import json

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from drill.core.conditions import Conditions, Fading
from drill.core.models import Answer, Clip, FieldScore, Item, Operator, Pair
from drill.core.structuring import from_data, to_data
from phonetics.message import Field, Message, Word

words = st.builds(
    Word, say=st.text(max_size=9), means=st.text(max_size=3), field=st.text(), pause=st.text()
)
fields = st.builds(Field, name=st.text(), kind=st.text(), text=st.text(), optional_if=st.text())
items = st.builds(
    Item,
    seed=st.integers(0, 2**48),
    message=st.builds(
        Message,
        part=st.text(),
        exchange=st.text(),
        call=st.text(),
        fields=st.lists(fields, max_size=3).map(tuple),
        words=st.lists(words, max_size=3).map(tuple),
    ),
    operator=st.builds(
        Operator,
        name=st.text(),
        engine=st.text(),
        voice=st.text(),
        pitch_hz=st.floats(50, 400),
        formant_scale=st.floats(0.5, 1.5),
    ),
    conditions=st.builds(
        Conditions,
        snr_db=st.none() | st.floats(-30, 60),
        fading=st.builds(Fading, name=st.text(), delay_ms=st.floats(0, 9)),
    ),
)


@given(item=items)
def test_an_item_survives_json(item: Item) -> None:
    assert from_data(Item, json.loads(json.dumps(to_data(item)))) == item


def test_an_operator_is_read_with_stored_and_present_names() -> None:
    operator = Operator(
        name="birch", engine="natural", voice="heart", pitch_hz=120.0, formant_scale=0.9
    )
    stored = to_data(operator)
    assert (stored["tract"], stored["style"]) == (0.9, "plain")
    assert from_data(Operator, stored) == operator
    present = {**stored, "formant_scale": stored.pop("tract"), "vocal_style": stored.pop("style")}
    present = {name: value for name, value in present.items() if name not in ("tract", "style")}
    assert from_data(Operator, present) == operator


def test_answers_and_scores_keep_the_released_names() -> None:
    answer = Answer(typed="E8", seconds=1.0)
    assert to_data(answer) == {"text": "E8", "seconds": 1.0, "replays": 0, "gave_up": False}
    score = FieldScore(
        name="call", sent="A", typed="B", pairs=(Pair(sent="A", typed="B"),), right=False
    )
    assert to_data(score) == {
        "name": "call",
        "sent": "A",
        "copied": "B",
        "pairs": [{"sent": "A", "copied": "B"}],
        "right": False,
        "hint": "",
    }


def test_models_are_frozen() -> None:
    with pytest.raises(AttributeError):
        Conditions().snr_db = 3.0  # type: ignore[misc]


def test_a_clip_has_a_duration() -> None:
    assert Clip(samples=np.zeros(24_000, np.float32), rate_hz=16_000).seconds == 1.5
