"""Prompts: complete, reproducible, and more often of a kind that went badly."""

import pytest

from drill.core.errors import UserError
from drill.sending.prompts import (
    PROMPT_KINDS,
    choose_prompt,
    compose_prompt,
    prompt_kind_weights,
)
from phonetics.exchanges import exchange_names
from tests.drill.sending.takes import CALL, own_station, review_words


@pytest.mark.parametrize("kind", PROMPT_KINDS)
@pytest.mark.parametrize("exchange", exchange_names())
def test_a_prompt_follows_from_its_seed(kind: str, exchange: str) -> None:
    for seed in range(5):
        prompt = compose_prompt(kind, own_station(exchange), seed)
        assert prompt == compose_prompt(kind, own_station(exchange), seed)
        assert prompt.fields
        assert prompt.words


def test_a_correction_has_one_wrong_character_in_the_suffix() -> None:
    for seed in range(20):
        misheard = compose_prompt("correction", own_station(), seed).misheard
        differences = [index for index in range(len(CALL)) if misheard[index] != CALL[index]]
        assert len(differences) == 1
        assert differences[0] >= CALL.index("ABC")


def test_a_kind_that_went_badly_comes_more_often() -> None:
    prompt = compose_prompt("suffix", own_station(), 1)
    bad = review_words("alfa alfa alfa", prompt=prompt)
    weights = prompt_kind_weights([(prompt, bad)])
    assert weights["suffix"] > weights["call"] == 1
    drawn = [choose_prompt(own_station(), seed, [(prompt, bad)] * 5).kind for seed in range(200)]
    assert drawn.count("suffix") > 2 * drawn.count("call")


def test_an_unknown_kind_is_refused() -> None:
    with pytest.raises(UserError, match=r"prompt 'song' is unknown; choose one of call") as caught:
        compose_prompt("song", own_station(), 1)
    assert caught.value.field == "kind"
