"""Outside check of the listener: recordings of people, from Debian's packages, never committed.

asterisk-core-sounds-en-g722: Allison Smith, single words at 16 kHz, CC-BY-SA-3.0.
codec2-examples: four radio operators at 8 kHz, LGPL-2.1. The floors are the project's own.
"""

import os

import pytest

from drill import recogniser
from tests.outside import people


def needed(there: bool, package: str) -> None:
    if not there:
        why = f"needs recordings of people (Debian: {package})"
        (pytest.fail if os.environ.get("CI") else pytest.skip)(why)


@pytest.fixture
def talker() -> None:
    needed((people.ASTERISK / "phonetic/a_p.g722").exists(), people.PACKAGE)


@pytest.mark.usefixtures("talker")
def test_a_persons_single_words_are_told_apart() -> None:
    found = people.one_word(recogniser.find())
    assert found.said == 36
    assert 1 - found.wrong / found.said >= 0.95


@pytest.mark.slow
@pytest.mark.usefixtures("talker")
def test_a_persons_calls_are_heard_as_the_review_hears_them() -> None:
    found = people.asked_calls(recogniser.find())
    assert 1 - found.wrong / found.said >= 0.95


def test_operators_are_heard_in_part() -> None:
    """No more is asked of 8 kHz and whole overs; the figures are in DEVELOPERS.md."""
    needed((people.CODEC2 / "g3plx.raw").exists(), "codec2-examples")
    found = list(people.operators(recogniser.find()))
    assert len(found) == 4
    said, wrong = sum(one.said for one in found), sum(one.wrong for one in found)
    assert 1 - wrong / said >= 0.75
