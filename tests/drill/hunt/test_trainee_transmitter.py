"""The trainee's own transmissions, with and without speech."""

from drill.contact.air import samples
from drill.contact.overs import Over
from drill.hunt.trainee_transmitter import TraineeTransmitter
from phonetics.message import Word
from tests.drill.hunt.simple_hunter import make_setup
from tests.drill.hunt.sounding import WORD_S, NoiseSpeech

WORDS = (Word(say="alfa", means="A"), Word(say="nine", means="9"))
OVER = Over(kind="call", words=WORDS)


def test_an_over_lasts_as_long_as_its_speech() -> None:
    own = TraineeTransmitter(make_setup(), NoiseSpeech())
    over = own.send(OVER, 1000)
    assert over.end - over.start == samples(0.25 + 2 * WORD_S + 0.15)
    assert own.is_sending(1000)
    assert not own.is_sending(over.end)


def test_overs_are_joined_while_one_is_sent_and_separate_after_it() -> None:
    own = TraineeTransmitter(make_setup(), None)
    first = own.send(OVER, 0)
    both = own.send(OVER, first.end - 1)
    assert both.start == 0
    assert both.over.text == "alfa nine, alfa nine"
    apart = own.send(OVER, both.end)
    assert apart.start == both.end
    assert own.spans == [(0, both.end), (both.end, apart.end)]


def test_breaking_off_ends_only_a_present_over() -> None:
    own = TraineeTransmitter(make_setup(), None)
    over = own.send(OVER, 0)
    own.break_off(500)
    assert own.spans == [(0, 500)]
    own.break_off(over.end)
    assert own.spans == [(0, 500)]
