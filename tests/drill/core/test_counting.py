"""Counts with their nouns."""

import pytest

from drill.core.counting import plural


@pytest.mark.parametrize(
    ("count", "text"), [(0, "0 items"), (1, "1 item"), (2, "2 items"), (11, "11 items")]
)
def test_only_one_is_singular(count: int, text: str) -> None:
    assert plural(count, "item") == text
