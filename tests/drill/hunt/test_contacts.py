"""The pad of a hunt, compared with the logs of the worked stations."""

from collections.abc import Callable

from drill.contact.acts import CALL, LEAVE, LOG, NOTE
from drill.contact.air import samples
from drill.hunt.acts import END, MEND, TUNE, HuntAct
from drill.hunt.checking import (
    DUPLICATE,
    LOST_THERE,
    NOT_IN_MY_LOG,
    NOT_IN_THEIR_LOG,
    RIGHT,
    WRONG_CALL,
    WRONG_EXCHANGE,
)
from drill.hunt.contacts import checked_contacts
from drill.hunt.live import LiveHunt
from tests.drill.hunt.simple_hunter import SimpleHunter, make_setup


def started(errs: Callable[[str], str] = str) -> tuple[LiveHunt, SimpleHunter, list[int]]:
    live = LiveHunt(make_setup())
    hunter = SimpleHunter(live, live.act, live.advance, errs=errs)
    return live, hunter, hunter.strongest()


def verdicts(live: LiveHunt) -> list[str]:
    live.act(HuntAct(at=live.now, kind=END))
    return [contact.verdict for contact in checked_contacts(live)]


def test_serial_numbers_of_both_sides_rise() -> None:
    live, hunter, stations = started()
    for number in stations[:3]:
        assert hunter.work(number)
    assert verdicts(live) == [RIGHT, RIGHT, RIGHT]
    contacts = checked_contacts(live)
    assert [contact.logs.own_exchange for contact in contacts] == ["59 001", "59 002", "59 003"]
    assert [contact.holder for contact in contacts] == stations[:3]
    assert all(contact.logs.given_exchange == contact.logs.my_exchange for contact in contacts)


def test_errors_of_the_trainee_are_found() -> None:
    live, hunter, stations = started(errs=lambda text: f"{text[:-1]}{(int(text[-1]) + 1) % 10}")
    assert hunter.work(stations[0])
    hunter.errs = lambda text: "OF1QUN " + text.split(maxsplit=1)[1]
    assert hunter.work(stations[1])
    assert verdicts(live) == [WRONG_EXCHANGE, WRONG_CALL]


def test_a_corrected_line_is_right() -> None:
    live, hunter, stations = started(errs=lambda text: "OF1QUN " + text.split(maxsplit=1)[1])
    assert hunter.work(stations[0])
    right = live.channels[stations[0]].holder.call
    live.act(HuntAct(at=live.now, kind=MEND, line=1, text=right))
    assert verdicts(live) == [RIGHT]


def test_a_station_worked_twice_is_a_duplicate() -> None:
    live, hunter, stations = started()
    for number in (stations[0], stations[1], stations[0]):
        assert hunter.work(number)
    assert verdicts(live) == [RIGHT, RIGHT, DUPLICATE]
    first, _, again = checked_contacts(live)
    assert first.logs.given_exchange != again.logs.given_exchange


def test_a_line_without_a_contact_is_not_in_their_log() -> None:
    live, _, stations = started()
    holder = live.channels[stations[0]].holder
    live.act(HuntAct(at=0, kind=TUNE, hz=holder.carrier_hz))
    live.act(HuntAct(at=samples(5), kind=NOTE, text=f"{holder.call} 59 012"))
    live.act(HuntAct(at=samples(6), kind=LOG))
    live.act(HuntAct(at=samples(7), kind=TUNE, hz=14_100_000.0))  # no station is there
    live.act(HuntAct(at=samples(8), kind=CALL))
    live.act(HuntAct(at=samples(15), kind=NOTE, text="OF1QUN 59 012"))
    live.act(HuntAct(at=samples(16), kind=LOG))
    assert verdicts(live) == [NOT_IN_THEIR_LOG, NOT_IN_THEIR_LOG]


def test_a_contact_that_only_they_logged_is_listed() -> None:
    live, hunter, stations = started()
    log, hunter.act = hunter.act, lambda act: [] if act.kind == LOG else live.act(act)
    assert not hunter.work(stations[0])
    live.act(HuntAct(at=live.now, kind=LEAVE))
    hunter.act = log
    assert hunter.work(stations[1])
    assert verdicts(live) == [RIGHT, NOT_IN_MY_LOG]
    last = checked_contacts(live)[-1]
    assert (last.number, last.holder) == (None, stations[0])
    assert 0 < last.at_s < live.now / 16000


def test_a_line_logged_after_tuning_away_keeps_its_station() -> None:
    live, hunter, stations = started()
    hunter.act = lambda act: [] if act.kind == LOG else live.act(act)
    hunter.work(stations[0], patience_s=40.0)
    call = live.channels[stations[0]].holder.call
    note = next(act for act in live.acts if act.kind == NOTE)
    live.act(HuntAct(at=live.now, kind=TUNE, hz=live.channels[stations[1]].holder.carrier_hz))
    live.act(HuntAct(at=live.now + samples(1), kind=CALL))
    live.act(HuntAct(at=live.now + samples(5), kind=NOTE, text=note.text))
    live.act(HuntAct(at=live.now + samples(1), kind=LOG))
    (contact,) = checked_contacts(live)[:1]
    assert (contact.holder, contact.logs.given_call) == (stations[0], call)


def test_a_similar_call_of_another_caller_is_not_the_trainees() -> None:
    live, hunter, stations = started()
    for number in stations[:2]:
        assert hunter.work(number)
    first, second = (live.channels[number] for number in stations[:2])
    for line in [line for line in first.far_log if line.call == "E87ABC"]:
        line.call, line.exchange = "E87WTC", "146"
    for line in [line for line in second.far_log if line.call == "E87ABC"]:
        line.call = "E87WTC"  # with the trainee's number, it is the trainee
    assert verdicts(live) == [NOT_IN_THEIR_LOG, LOST_THERE]


def test_a_caller_with_a_similar_call_makes_no_contact_of_the_trainees() -> None:
    live, hunter, stations = started()
    hunter.act = lambda act: [] if act.kind == LOG else live.act(act)
    assert not hunter.work(stations[0])
    for line in live.channels[stations[0]].far_log:
        line.call, line.exchange = "E87CZW", "777"
    assert verdicts(live) == []
