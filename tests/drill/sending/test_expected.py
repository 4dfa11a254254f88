"""The graph of expected words contains every way in which an operator says a field."""

from hypothesis import given, settings
from hypothesis import strategies as st

from drill.sending.align import align_words
from drill.sending.expected import expected_graph, expected_units
from phonetics.exchanges import exchange_names
from tests.drill.sending.takes import call_prompt, spoken_exchange


def test_a_unit_is_a_character_of_a_call() -> None:
    assert [unit.means for unit in expected_units(call_prompt("E87ABC"))] == [*"E87ABC"]


def test_the_ending_of_a_portable_call_is_one_unit() -> None:
    *_, ending = expected_units(call_prompt("E87ABC/P"))
    assert ending.means == "/P"
    assert {("stroke", "papa"), ("portable",)} <= set(ending.forms)


@settings(max_examples=100)
@given(seed=st.integers(0, 2**40), exchange=st.sampled_from(exchange_names()))
def test_every_over_style_of_an_exchange_is_expected(seed: int, exchange: str) -> None:
    prompt, words = spoken_exchange(exchange, seed)
    steps = align_words(words, expected_graph(prompt))
    assert {step.kind for step in steps} <= {"right", "procedure", "back"}, words
