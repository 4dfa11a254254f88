"""Outside check of the voice gate: a recorded person passes it.

Recordings of one talker at 16 kHz (Allison Smith; Debian package asterisk-core-sounds-en-g722,
CC-BY-SA-3.0), never committed. The weight of each further word in pocketsphinx's grammar was set
with them; no recogniser was trained with them.
"""

import os
from collections.abc import Sequence
from random import Random

import pytest

from drill.core.errors import ResourceUnavailable
from drill.core.models import Clip, Operator
from phonetics.message import Word
from tests.tools.recogniser_sweep.speakers import human_joined
from tests.tools.voice_gate.judge import judge_operator

PERSON = Operator(name="person", engine="natural", voice="recorded", pitch_hz=200.0)
PAUSE_S = 0.2


@pytest.fixture(scope="module")
def _recordings() -> None:
    """Skips the test if the recordings are not installed."""
    try:
        human_joined("A", [0.0])
    except ResourceUnavailable as error:
        (pytest.fail if os.environ.get("CI") else pytest.skip)(str(error))


def join_recordings(words: Sequence[Word], _: Operator, seed: int) -> Clip:
    return human_joined("".join(word.means for word in words), [PAUSE_S] * len(words))


def join_shuffled_recordings(words: Sequence[Word], operator: Operator, seed: int) -> Clip:
    shuffled = list(words)
    Random(seed).shuffle(shuffled)
    return join_recordings(shuffled, operator, seed)


@pytest.mark.slow
@pytest.mark.usefixtures("_recordings")
@pytest.mark.parametrize("recogniser", ["own", "pocketsphinx"])
def test_a_person_passes(recogniser: str) -> None:
    count = judge_operator(PERSON, join_recordings, recogniser=recogniser, calls=20)
    assert count.passed, count.mistakes


@pytest.mark.usefixtures("_recordings")
@pytest.mark.slow
def test_shuffled_words_do_not_pass_for_the_call() -> None:
    assert (
        judge_operator(
            PERSON, join_shuffled_recordings, recogniser="pocketsphinx", calls=5
        ).share_right
        < 0.7
    )
