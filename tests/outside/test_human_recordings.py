"""Outside check of the recognisers: they understand recordings of people.

The recordings are from Debian packages and never committed; see human_recordings.py for their
sources. The required accuracy was chosen by the project.
"""

import importlib.util
import os

import pytest

from drill.recogniser import find_recogniser
from tests.outside.human_recordings import (
    ASTERISK_PACKAGE,
    CODEC2_PACKAGE,
    has_asterisk_recordings,
    has_codec2_recordings,
    recognise_known_calls,
    recognise_overs,
    recognise_single_words,
    recognise_unknown_calls,
)
from tests.outside.recogniser_opinions import OPINION_SEED, form_opinion
from tests.tools.recogniser_sweep.test_sets import human_calls


def require(installed: bool, package: str) -> None:
    """Skip the test if recordings are not installed; in CI, fail it."""
    if not installed:
        reason = f"needs recordings of people (Debian: {package})"
        (pytest.fail if os.environ.get("CI") else pytest.skip)(reason)


each_recogniser = pytest.mark.parametrize(
    "name",
    [
        "own",
        pytest.param(
            "pocketsphinx",
            marks=[
                pytest.mark.slow,
                pytest.mark.skipif(
                    importlib.util.find_spec("pocketsphinx") is None,
                    reason="pocketsphinx has no wheel for Python 3.14 and later",
                ),
            ],
        ),
    ],
)


@each_recogniser
def test_single_words_of_a_person_are_recognised(name: str) -> None:
    require(has_asterisk_recordings(), ASTERISK_PACKAGE)
    result = recognise_single_words(find_recogniser(name))
    assert result.words == 36
    assert result.accuracy >= 0.95


@pytest.mark.slow
@each_recogniser
def test_known_calls_of_a_person_are_recognised(name: str) -> None:
    require(has_asterisk_recordings(), ASTERISK_PACKAGE)
    assert recognise_known_calls(find_recogniser(name)).accuracy >= 0.95


@pytest.mark.slow
def test_unknown_calls_of_a_person_are_recognised() -> None:
    """Any sequence of code words and figures is allowed, so the form of calls gives no help."""
    require(has_asterisk_recordings(), ASTERISK_PACKAGE)
    assert recognise_unknown_calls(find_recogniser("own")).accuracy >= 0.95


@pytest.mark.slow
@each_recogniser
def test_overs_of_operators_are_recognised_in_part(name: str) -> None:
    """The limit is lower for whole overs at 8 kHz: see tests/measured/human_recordings.md."""
    require(has_codec2_recordings(), CODEC2_PACKAGE)
    results = list(recognise_overs(find_recogniser(name)))
    assert len(results) == 4
    words, wrong = sum(r.words for r in results), sum(r.wrong for r in results)
    assert 1 - wrong / words >= 0.75


@pytest.mark.slow
def test_calls_of_a_person_are_copied_in_noise() -> None:
    """Half of the symbols well below 0 dB, as in tests/measured/own_recogniser.md."""
    require(has_asterisk_recordings(), ASTERISK_PACKAGE)
    clips = list(human_calls(30, OPINION_SEED))
    quiet, weak = (
        form_opinion(find_recogniser("own"), clips, speakers_name="a person", path=path)
        for path in ("SSB, no noise", "SSB, 0 dB")
    )
    assert quiet.accuracy >= 0.97
    assert weak.accuracy >= 0.8
    assert weak.right / weak.calls >= 0.35
