"""The score of a contact in progress: it has times and the trainee's words, but no word heard."""

from drill.contact.acts import CALL, EXCHANGE, NOTE, Act
from drill.contact.air import samples
from drill.contact.live import LiveContact
from drill.contact.overs import FAR
from drill.contact.score import contact_score
from tests.drill.contact.scripted_trainee import make_frequency


def strong_contact() -> LiveContact:
    return LiveContact(make_frequency(1, watts=100.0, path_snr_db=30.0))


def test_the_first_call_is_one_stretch_that_grows() -> None:
    contact = strong_contact()
    assert contact_score(contact) == ()
    contact.advance(samples(2.0))
    (entry,) = contact_score(contact)
    assert (entry.at_s, entry.seconds, entry.said, entry.text) == (1.0, 1.0, (), "")
    (far,) = [over for over in contact.frequency.trace if over.speaker == FAR]
    contact.advance(far.end + samples(1.0))
    (entry,) = contact_score(contact)
    assert entry.seconds == round((far.end - far.start) / 16000, 2)


def test_notes_belong_to_the_entry_that_began_last() -> None:
    contact = strong_contact()
    contact.act(Act(at=samples(0.5), kind=NOTE, text="too early"))
    contact.act(Act(at=samples(2.0), kind=NOTE, text="x6"))
    far = contact.frequency.trace[0]
    contact.act(Act(at=far.end + samples(0.5), kind=NOTE, text="x61"))
    contact.act(Act(at=far.end + samples(0.6), kind=CALL))
    contact.act(Act(at=far.end + samples(0.9), kind=NOTE, text="while sending"))
    heard, mine = contact_score(contact)
    assert heard.notes == ("x6", "x61")
    assert mine.notes == ("while sending",)


def test_the_trainees_overs_have_their_words_and_hide_what_others_send_meanwhile() -> None:
    contact = strong_contact()
    contact.advance(samples(1.5))
    contact.act(Act(at=samples(1.5), kind=CALL))
    contact.act(Act(at=samples(1.6), kind=EXCHANGE))
    mine = contact.frequency.trace[-1]
    contact.advance(mine.end)
    first, own, *rest = contact_score(contact)
    assert (first.at_s, first.seconds) == (1.0, 0.5)
    assert own.said == (CALL, EXCHANGE)
    assert own.text == mine.over.text
    for entry in rest:
        assert entry.at_s >= round(mine.end / 16000, 2)


def test_a_very_short_stretch_of_received_audio_is_left_out() -> None:
    contact = strong_contact()
    contact.act(Act(at=samples(1.1), kind=CALL))
    contact.advance(samples(1.3))
    (own,) = contact_score(contact)
    assert own.said == (CALL,)
