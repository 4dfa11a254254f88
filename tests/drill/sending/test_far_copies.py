"""Copying at the far end: all words of a strong signal, fewer in noise."""

import pytest

from drill.core.conditions import Conditions
from drill.core.models import Clip
from drill.recogniser import RecognisedWord, find_recogniser
from drill.recogniser.grammar import Grammar
from drill.sending.describe_copies import copies_passage
from drill.sending.far_copies import FarCopies, copy_far_ends, far_grammar
from drill.sending.prompts import PROMPT_KINDS, compose_prompt
from drill.voices.operators import find_operator
from phonetics.exchanges import load_exchange
from tests.drill.sending.takes import CALL_WITH_WRONG_B, CALL_WORDS, FakeRecogniser, own_station
from tests.tools.defects import DEFECTS, spoil_take

PROMPT = compose_prompt("call", own_station(), 2)


@pytest.fixture(scope="module")
def clip() -> Clip:
    """Return a clean take."""
    return spoil_take(PROMPT, find_operator("fern"), DEFECTS["none"], PROMPT.seed).clip


class FadingRecogniser(FakeRecogniser):
    """Recognises the prompt in the first clip of a voice and in every second one after it."""

    def __init__(self) -> None:
        super().__init__(CALL_WORDS, confidence=0.8)
        self.clips = 0

    def recognise(self, clip: Clip, grammar: Grammar) -> tuple[RecognisedWord, ...]:
        self._passes = [CALL_WORDS if self.clips % 2 == 0 else CALL_WITH_WRONG_B]
        self.clips += 1
        return super().recognise(clip, grammar)


def copies_of(clip: Clip, recogniser: FakeRecogniser) -> FarCopies:
    return copy_far_ends(
        clip, PROMPT, None, Conditions(), recogniser,
        reference_recogniser=FakeRecogniser(CALL_WORDS), path_snr_db=10.0, seed=1, tries=4,
    )  # fmt: skip


def test_tries_are_counted_word_by_word(clip: Clip) -> None:
    """Counts by hand: the first of five clips is the check without noise at each power."""
    copies = copies_of(clip, FadingRecogniser())
    power = copies.powers[0]
    assert (power.watts, power.snr_db) == (100, 10)
    assert power.take.whole == 2
    assert power.reference.whole == 4
    assert {unit.means: unit.copied for unit in power.take.units} == {
        "E": 4, "8": 4, "7": 4, "A": 4, "B": 2, "C": 4,
    }  # fmt: skip
    assert {unit.confidence for unit in power.take.units} == {0.8}
    passage = copies_passage(copies, PROMPT)
    assert passage.figures[0] == ("Of 4 tries at 100 W your call gets through in 2, meadow in 4.")
    assert passage.table is not None
    assert passage.table.rows[4] == ("bravo", "2, 80% (4)", "2, 80% (4)", "2, 80% (4)")


def test_a_voice_that_is_not_copied_without_noise_is_not_judged(clip: Clip) -> None:
    copies = copies_of(clip, FakeRecogniser(CALL_WITH_WRONG_B))
    assert copies.powers == ()
    (sentence,) = copies_passage(copies, PROMPT).sentences
    assert "copies only 5 of the 6 words" in sentence


@pytest.mark.slow
def test_with_less_power_fewer_words_are_copied(clip: Clip) -> None:
    own = find_recogniser("own")
    first, again = (
        copy_far_ends(clip, PROMPT, None, Conditions(), own, path_snr_db=8.0, seed=3, tries=4)
        for _ in range(2)
    )
    assert first == again
    whole = [power.take.whole for power in first.powers]
    assert whole == sorted(whole, reverse=True)
    assert whole[0] > whole[-1]


@pytest.mark.parametrize("kind", PROMPT_KINDS)
@pytest.mark.parametrize("exchange", ["serial", "zone-amateur", "name-area"])
def test_the_far_station_can_copy_every_prompt(kind: str, exchange: str) -> None:
    station = own_station(exchange)
    prompt = compose_prompt(kind, station, 5)
    grammar = far_grammar(prompt, load_exchange(exchange))
    words = [word.say for word in prompt.words]
    assert grammar.accepts(words)
    assert grammar.accepts(["this", "is", *words, "over"])
    assert grammar.accepts([*words, *words])
    assert not grammar.accepts([])
