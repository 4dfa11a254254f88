"""Outside check of the recogniser: it understands recordings of people.

The recordings are from Debian packages and never committed; see human_recordings.py for their
sources. The required accuracy was chosen by the project.
"""

import os

import pytest

from drill import recogniser
from tests.outside.human_recordings import (
    ASTERISK_PACKAGE,
    CODEC2_PACKAGE,
    has_asterisk_recordings,
    has_codec2_recordings,
    recognise_known_calls,
    recognise_overs,
    recognise_single_words,
)


def require(installed: bool, package: str) -> None:
    """Skip the test if recordings are not installed; in CI, fail it."""
    if not installed:
        reason = f"needs recordings of people (Debian: {package})"
        (pytest.fail if os.environ.get("CI") else pytest.skip)(reason)


def test_single_words_of_a_person_are_recognised() -> None:
    require(has_asterisk_recordings(), ASTERISK_PACKAGE)
    result = recognise_single_words(recogniser.find_recogniser())
    assert result.words == 36
    assert result.accuracy >= 0.95


@pytest.mark.slow
def test_known_calls_of_a_person_are_recognised() -> None:
    require(has_asterisk_recordings(), ASTERISK_PACKAGE)
    assert recognise_known_calls(recogniser.find_recogniser()).accuracy >= 0.95


def test_overs_of_operators_are_recognised_in_part() -> None:
    """Less is required of 8 kHz and whole overs: see tests/measured/human_recordings.md."""
    require(has_codec2_recordings(), CODEC2_PACKAGE)
    results = list(recognise_overs(recogniser.find_recogniser()))
    assert len(results) == 4
    words, wrong = sum(r.words for r in results), sum(r.wrong for r in results)
    assert 1 - wrong / words >= 0.75
