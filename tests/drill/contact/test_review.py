"""Overs of a finished contact: wrong words of the own call are marked."""

from drill.contact.acts import LEAVE, Act
from drill.contact.air import OnAir, Participant, samples
from drill.contact.far_states import State
from drill.contact.live import LiveContact
from drill.contact.overs import FAR, Over
from drill.contact.review import SaidOver, said_overs
from tests.drill.contact.scripted_trainee import make_frequency


def said_by_far_station(call: str, template: str = "{part}, {exchange}") -> SaidOver:
    """Return an over in which the far station says a call; it leaves out characters written "?"."""
    frequency = make_frequency(1, watts=100.0, path_snr_db=30.0)
    contact = LiveContact(frequency)
    speaker = frequency.station.speaker
    words = speaker.say(frequency.station.stream("x"), template, part=call.replace("?", ""))
    over = Over(kind=State.GIVING.value, words=words, call=tuple(call))
    participant = Participant(name=FAR, path_seed=1, near_db=20.0)
    frequency.trace = [
        OnAir(participant=participant, over=over, number=0, start=0, end=9, times=())
    ]
    contact.ended, contact.ended_at = LEAVE, samples(9.0)
    (said,) = said_overs(contact)
    assert said.text == over.text
    return said


def wrong(said: SaidOver) -> list[str]:
    return [part.text for part in said.parts if part.wrong]


def test_a_wrong_word_of_the_own_call_is_marked() -> None:
    said = said_by_far_station("E87APC")
    assert wrong(said) == ["papa"]
    assert said.parts[0].text.split()[:3] == ["echo", "eight", "seven"]


def test_the_right_call_and_a_part_of_it_have_no_marks() -> None:
    assert wrong(said_by_far_station("E87ABC")) == []
    assert wrong(said_by_far_station("E8?A?C")) == []


def test_another_call_has_no_marks() -> None:
    assert wrong(said_by_far_station("X61CCW")) == []


def test_words_of_a_finished_contact() -> None:
    contact = LiveContact(make_frequency(1, watts=100.0, path_snr_db=30.0))
    contact.act(Act(at=samples(8.0), kind=LEAVE))
    assert {over.who for over in said_overs(contact)} == {"they"}
