"""Operators of word banks, and the words that their banks lack."""

from dataclasses import replace
from pathlib import Path
from random import Random

import pytest

from drill import voices
from drill.core.errors import NoVoice, UserError
from drill.core.models import Operator
from drill.voices.operators import draw_operator, find_operator
from drill.voices.wordbank.bank_operators import (
    bank_operators,
    check_bank_ready,
    missing_words,
    reword_for_operator,
)
from drill.voices.wordbank.storage import create_bank
from phonetics.message import Word
from tests.drill.voices.wordbank.conftest import OVER
from tests.drill.word_recordings import CONSENT


def test_every_bank_has_an_operator(home: Path) -> None:
    assert bank_operators() == ()
    create_bank("new", CONSENT)
    assert [operator.name for operator in bank_operators()] == ["bank-new"]


def test_each_missing_word_is_listed_once(bank_mine: Operator) -> None:
    words = [*OVER, Word(say="zulu"), Word(say="fower"), Word(say="zulu")]
    assert missing_words(words, bank_mine) == ("zulu", "fower")
    assert missing_words(words, find_operator("tin")) == ()


def test_missing_words_are_expressed_by_others(bank_mine: Operator) -> None:
    words = (Word(say="niner", means="9"), Word(say="roger"), Word(say="echo", means="E"))
    assert [word.say for word in reword_for_operator(words, bank_mine)] == ["nine", "echo"]
    assert reword_for_operator(words, find_operator("tin")) == words


def test_the_operator_of_a_deleted_bank_stays_the_same(bank_mine: Operator) -> None:
    """Old records, which name this operator, can still be read."""
    deleted = find_operator("bank-gone")
    assert deleted == replace(bank_mine, name="bank-gone", voice="gone")
    assert draw_operator(Random(1), ["bank-gone"]) == deleted
    with pytest.raises(NoVoice, match=r"'gone' is not on this computer.*record-words gone"):
        voices.find_engine("bank").synthesise(OVER, deleted, 1)
    with pytest.raises(UserError, match="'bank-gone'; there are: bank-mine"):
        check_bank_ready(deleted)


def test_a_bank_without_all_essential_words_is_not_ready(bank_mine: Operator) -> None:
    with pytest.raises(UserError, match=r"lacks \d+ of the 37 .*record-words mine"):
        check_bank_ready(bank_mine)
    check_bank_ready(find_operator("tin"))


def test_a_bad_bank_name_is_refused() -> None:
    with pytest.raises(UserError, match=r"'\.\./x'"):
        find_operator("bank-../x")
