"""A word bank for the tests of speech from word banks."""

from collections.abc import Iterator

import pytest

from drill.core.models import Operator
from drill.voices.operators import find_operator
from phonetics.message import Word
from tests.drill.word_recordings import create_bank_with

OVER = (
    Word(say="echo", means="E"), Word(say="eight", means="8"),
    Word(say="seven", means="7", pause=","), Word(say="x-ray", means="X"),
    Word(say="quebec", means="Q"), Word(say="papa", means="P", pause="."),
    Word(say="five", means="5"), Word(say="nine", means="9"),
    Word(say="twenty-six", means="26"), Word(say="over"),
)  # fmt: skip
RECORDED_WORDS = [
    "echo", "eight", "seven", "x-ray", "quebec", "papa", "five", "nine", "twenty", "six", "over",
]  # fmt: skip


@pytest.fixture(scope="module")
def bank_mine(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Operator]:
    """The operator of a bank with the words of OVER; the bank is in its own home folder."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("FAINTCALL_HOME", str(tmp_path_factory.mktemp("bank")))
        create_bank_with("mine", RECORDED_WORDS)
        yield find_operator("bank-mine")
