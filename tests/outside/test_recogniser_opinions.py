"""Outside check of the recogniser `own`: pocketsphinx with the same grammar on the same calls.

The required shares were chosen by the project; tests/measured/opinions.md has the figures of more
calls.
"""

import importlib.util
import os
import sys
from functools import cache

import pytest

from drill.recogniser import find_recogniser
from tests.outside.human_recordings import ASTERISK_PACKAGE, has_asterisk_recordings
from tests.outside.recogniser_opinions import Opinion, form_opinion, opinion_sets
from tests.outside.test_human_recordings import require
from tests.tools.recogniser_sweep.test_sets import LabelledClip

pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(
        importlib.util.find_spec("pocketsphinx") is None
        and (sys.version_info >= (3, 14) or not os.environ.get("CI")),
        reason="needs pocketsphinx, which has no wheel for Python 3.14 and later",
    ),
]
CALLS = 6
SPEAKERS = ("a person", "natural operators")


@cache
def sets() -> dict[str, list[LabelledClip]]:
    require(has_asterisk_recordings(), ASTERISK_PACKAGE)
    return opinion_sets(CALLS)


@cache
def opinion(speakers: str, path: str, recogniser: str) -> Opinion:
    return form_opinion(
        find_recogniser(recogniser), sets()[speakers], speakers_name=speakers, path=path
    )


@pytest.mark.parametrize("speakers", SPEAKERS)
def test_both_understand_calls_at_the_microphone(speakers: str) -> None:
    """An independent engine understands the same calls: `own` does not merely know their form."""
    own, other = (opinion(speakers, "microphone", name) for name in ("own", "pocketsphinx"))
    assert other.accuracy >= 0.8
    assert own.accuracy >= max(0.95, other.accuracy)


@pytest.mark.parametrize("path", ["SSB, no noise", "SSB, +12 dB", "SSB, 0 dB"])
@pytest.mark.parametrize("speakers", SPEAKERS)
def test_own_copies_more_after_the_radio_path(speakers: str, path: str) -> None:
    own, other = (opinion(speakers, path, name) for name in ("own", "pocketsphinx"))
    assert own.accuracy >= other.accuracy
    if "dB" in path:
        assert own.accuracy >= other.accuracy + 0.3


@pytest.mark.parametrize("speakers", SPEAKERS)
def test_both_copy_less_with_less_snr(speakers: str) -> None:
    for recogniser in ("own", "pocketsphinx"):
        clean, _, weak = (
            opinion(speakers, path, recogniser).accuracy
            for path in ("microphone", "SSB, +12 dB", "SSB, 0 dB")
        )
        assert weak <= clean
