"""The nouns go to JSON and back without loss."""

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drill.core.conditions import Conditions, Fading
from drill.core.models import Clip, Item, Operator
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


def test_an_item_is_frozen() -> None:
    with pytest.raises(AttributeError):
        Conditions().snr_db = 3.0  # type: ignore[misc]


def test_clips_tell_their_length() -> None:
    import numpy as np

    assert Clip(samples=np.zeros(24_000, np.float32), rate_hz=16_000).seconds == 1.5
