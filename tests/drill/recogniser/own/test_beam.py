"""Prefix beam search, compared with sums over every path of labels."""

import itertools
import math

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from drill.recogniser.grammar import any_number, build_grammar, choice, repeat, sequence
from drill.recogniser.own.beam import beam_search, unit_log_probabilities
from drill.recogniser.own.vocabulary import Vocabulary
from drill.recogniser.own.word_network import WordNetwork, compile_grammar

VOCABULARY = Vocabulary(
    tokens=("alfa", "one", "over"),
    words={"alfa": 1, "one": 2, "over": 3},
    phonemes=("a",),
    readings=((1,),) * 3,
)
ANY = compile_grammar(build_grammar("any", any_number(choice(["alfa", "one", "over"]))), VOCABULARY)


def _collapse(path: tuple[int, ...]) -> tuple[int, ...]:
    return tuple(label - 1 for label, _ in itertools.groupby(path) if label)


def _every_path(probabilities: np.ndarray, network: WordNetwork) -> dict[tuple[int, ...], float]:
    """Return the probability of each sequence of units that the network accepts."""
    frames, outputs = probabilities.shape
    sums: dict[tuple[int, ...], float] = {}
    for path in itertools.product(range(outputs), repeat=frames):
        product = math.prod(probabilities[frame, label] for frame, label in enumerate(path))
        units = _collapse(path)
        sums[units] = sums.get(units, 0.0) + product
    return {units: value for units, value in sums.items() if network.accepts(units)}


@given(st.lists(st.lists(st.floats(0.05, 1.0), min_size=4, max_size=4), min_size=1, max_size=5))
def test_a_wide_beam_finds_the_likeliest_sequence(rows: list[list[float]]) -> None:
    """A. Graves et al., Connectionist Temporal Classification (ICML 2006), equation 3."""
    probabilities = np.asarray(rows) / np.sum(rows, axis=1, keepdims=True)
    found = beam_search(np.log(probabilities), ANY, beam=10_000)
    expected = _every_path(probabilities, ANY)
    best = max(expected.values())
    assert math.isclose(expected[found[0].units], best, rel_tol=1e-9)
    # Weights of the grammar are 1, so that the score is the probability.
    assert math.isclose(math.exp(found[0].score), best, rel_tol=1e-6)


def test_only_sequences_of_the_grammar_are_found() -> None:
    grammar = build_grammar("two", sequence(repeat("alfa", 1, 1), repeat("one", 1, 1)))
    network = compile_grammar(grammar, VOCABULARY)
    alfa, one = (
        next(k for k, unit in enumerate(network.units) if unit.name == name) for name in "A1"
    )
    rows = np.full((4, 3), 0.05)
    rows[:, 0] = 0.1
    rows[0, one + 1] = rows[2, alfa + 1] = 0.9
    found = beam_search(np.log(rows), network)
    assert {hypothesis.units for hypothesis in found} == {(alfa, one)}


def test_nothing_is_found_if_no_sequence_fits_the_grammar() -> None:
    grammar = build_grammar("two", sequence("alfa", "alfa", "alfa"))
    network = compile_grammar(grammar, VOCABULARY)
    assert beam_search(np.log(np.full((2, 2), 0.5)), network) == ()


def test_tokens_outside_the_grammar_count_as_blank() -> None:
    network = compile_grammar(build_grammar("a", "alfa"), VOCABULARY)
    rows = np.log(np.asarray([[0.1, 0.2, 0.3, 0.4]], np.float32))
    values = np.exp(unit_log_probabilities(rows, network))
    np.testing.assert_allclose(values, [[0.8, 0.2]], atol=1e-6)
