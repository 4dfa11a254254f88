"""The recognisers that are installed, found by name."""

import pytest

from drill.core.errors import NoRecogniser
from drill.recogniser import find_recogniser, recogniser_names


def test_installed_recognisers_are_listed() -> None:
    assert "pocketsphinx" in recogniser_names()
    assert find_recogniser("pocketsphinx").problem() == ""


def test_an_unknown_recogniser_is_refused_with_the_choices() -> None:
    with pytest.raises(NoRecogniser, match=r"no recogniser 'parrot'; .*pocketsphinx"):
        find_recogniser("parrot")
