"""The messages of a hunt's socket."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from drill.core.errors import UserError
from drill.hunt.stream import SoundBlock
from drill.web.hunt_messages import (
    HEADER,
    SENDING_FLAG,
    ActMessage,
    PlayedMessage,
    page_message,
    sound_message,
)


def test_messages_of_the_page() -> None:
    assert page_message('{"type": "played", "to": 512}') == PlayedMessage(to=512)
    assert page_message('{"type": "act", "kind": "tune", "hz": 14200000}') == ActMessage(
        kind="tune", hz=14_200_000.0
    )
    assert page_message('{"type": "act", "kind": "mend", "text": "x", "line": 3}') == ActMessage(
        kind="mend", text="x", line=3
    )
    assert page_message('{"type": "act", "kind": "mend", "text": "x", "line": null}').line is None  # type: ignore[union-attr]


@given(st.text())
def test_any_text_is_a_message_or_refused(text: str) -> None:
    for candidate in (text, '{"type": "act", "kind": ' + text, '{"type": "played", "to": ' + text):
        try:
            message = page_message(candidate)
        except UserError:
            continue
        assert isinstance(message, PlayedMessage | ActMessage)


@pytest.mark.parametrize("sends", [False, True])
def test_a_block_of_sound_is_a_header_and_16_bit_samples(sends: bool) -> None:
    samples = np.array([0.0, 1.0, -1.0, 2.0, 0.5], np.float32)
    block = SoundBlock(at=4096, samples=samples, dial_hz=14_212_340.0, level_db=9.5, sends=sends)
    message = sound_message(block)
    assert HEADER.unpack_from(message) == (4096.0, 14_212_340.0, 9.5, SENDING_FLAG * sends)
    steps = np.frombuffer(message[HEADER.size :], "<i2")
    assert steps.tolist() == [0, 32767, -32767, 32767, 16384]
    assert HEADER.size == 24  # decoded as in hunt_worker.js
