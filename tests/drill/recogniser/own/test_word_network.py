"""Grammars compiled into the networks that the decoder searches."""

import pytest

from drill.core.errors import UserError
from drill.recogniser.grammar import any_number, build_grammar, choice, optional, sequence
from drill.recogniser.own.vocabulary import Vocabulary
from drill.recogniser.own.word_network import NetworkCache, WordNetwork, compile_grammar

VOCABULARY = Vocabulary(
    tokens=("kilo", "king", "one", "two", "twenty", "six", "over"),
    words={"kilo": 1, "king": 2, "one": 3, "two": 4, "to": 4, "twenty": 5, "six": 6, "over": 7},
    phonemes=("k", "o"),
    readings=((1, 2),) * 7,
)


def _numbers(network: WordNetwork, *names: str) -> list[int]:
    known = [unit.name for unit in network.units]
    return [known.index(name) for name in names]


def test_words_of_one_character_are_one_unit() -> None:
    network = compile_grammar(build_grammar("k", choice(["kilo", "king", "over"])), VOCABULARY)
    units = {unit.name: dict(unit.words) for unit in network.units}
    assert units == {"K": {1: "kilo", 2: "king"}, "over": {7: "over"}}


def test_a_word_of_two_tokens_is_passed_in_two_steps() -> None:
    network = compile_grammar(build_grammar("n", sequence("twenty-six", "over")), VOCABULARY)
    first, second, over = _numbers(network, "twenty-six#0", "twenty-six", "over")
    assert network.accepts([first, second, over])
    assert not network.accepts([second, over])
    assert [network.units[unit].whole for unit in (first, second)] == [False, True]


def test_free_arcs_and_loops_are_followed() -> None:
    grammar = build_grammar("x", sequence(any_number("one"), optional("kilo"), "two"))
    network = compile_grammar(grammar, VOCABULARY)
    one, kilo, two = _numbers(network, "1", "K", "2")
    assert network.accepts([two])
    assert network.accepts([one, one, kilo, two])
    assert not network.accepts([kilo, one, two])
    assert not network.accepts([one])


def test_a_rival_unit_has_to_fit_the_grammar_at_its_place() -> None:
    grammar = build_grammar("x", sequence("kilo", choice(["one", "two"])))
    network = compile_grammar(grammar, VOCABULARY)
    one, kilo, two = _numbers(network, "1", "K", "2")
    assert network.fits([kilo, one], 1, two)
    assert not network.fits([kilo, one], 1, kilo)


def test_an_unknown_word_is_named() -> None:
    with pytest.raises(UserError, match="'lighthouse'"):
        compile_grammar(build_grammar("x", "lighthouse"), VOCABULARY)


def test_the_cache_keeps_the_last_grammars() -> None:
    cache = NetworkCache(VOCABULARY, size=2)
    grammars = [build_grammar(word, word) for word in ("one", "two", "six")]
    networks = [cache.network(grammar) for grammar in grammars]
    assert cache.network(grammars[2]) is networks[2]
    assert cache.network(grammars[0]) is not networks[0]
