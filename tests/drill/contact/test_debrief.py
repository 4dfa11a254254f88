"""The debrief: the figures always add up, and each piece of advice needs a reason."""

from dataclasses import replace

import pytest

from drill.contact.acts import CALL, EXCHANGE, LEAVE, NOTE, VOICE, Act
from drill.contact.air import samples
from drill.contact.debrief import ContactResult, contact_result
from drill.contact.figures import figures_by_power, summarise_contacts
from drill.contact.live import LiveContact
from drill.contact.overs import TRAINEE, Over
from drill.contact.scripted_operator import Manners
from drill.contact.wording import (
    advice_sentence,
    clock,
    fault_sentences,
    heading,
    path_sentence,
    session_block,
    time_sentence,
)
from drill.core.structuring import from_data, to_data
from tests.drill.contact.scripted_trainee import ScriptedTrainee, make_frequency


def played(
    seed: int, *, watts: float = 5.0, path_snr_db: float = 12.0, callers: int = 0,
    manners: Manners | None = None,
) -> ContactResult:  # fmt: skip
    live = LiveContact(make_frequency(seed, watts=watts, path_snr_db=path_snr_db, callers=callers))
    ScriptedTrainee(live, manners).run()
    return contact_result(live, place=seed)


@pytest.mark.parametrize("seed", range(12))
def test_figures_add_up(seed: int) -> None:
    result = played(seed, callers=seed % 3)
    assert sum(result.times_s) >= result.seconds - 0.05
    assert (result.overs == 0) == (result.seconds == 0)
    assert from_data(ContactResult, to_data(result)) == result
    assert not result.is_mended or result.was_mended
    assert heading(result)
    assert time_sentence(result)
    assert path_sentence(result)
    assert len(fault_sentences(result.logs)) == len(result.logs.faults)


def test_a_contact_is_in_both_logs_or_there_is_a_reason() -> None:
    for seed in range(60):
        result = played(seed, path_snr_db=8.0, callers=seed % 3)
        one_log = result.logs.i_logged != result.logs.they_logged
        assert one_log == bool({"not-in-their-log", "not-in-my-log"} & set(result.logs.faults))


def test_sending_the_exchange_while_the_call_is_wrong_is_a_mistake() -> None:
    manners = Manners(mends=False)
    kinds = {
        advice.kind
        for seed in range(80)
        if (advice := played(seed, path_snr_db=10.0, manners=manners).advice) is not None
    }
    assert "exchange-while-wrong" in kinds


def test_calling_again_without_listening_is_a_mistake() -> None:
    result = played(4, watts=5.0, path_snr_db=2.0, manners=Manners(doubles=True))
    assert result.advice is not None
    assert result.advice.kind == "called-without-listening"
    assert "listen" in advice_sentence(result.advice)


def scripted(*acts: tuple[float, str], seed: int = 3, callers: int = 0) -> ContactResult:
    live = LiveContact(make_frequency(seed, watts=100.0, path_snr_db=30.0, callers=callers))
    for at_s, kind in acts:
        live.act(Act(at=samples(at_s), kind=kind, text="x" if kind == NOTE else ""))
    return contact_result(live, place=0)


def test_sending_while_they_send_is_a_mistake() -> None:
    result = scripted((1.2, CALL), (12.0, LEAVE))
    assert result.advice is not None
    assert result.advice.kind == "sent-while-they-sent"


def test_repeating_the_exchange_unasked_is_a_mistake() -> None:
    live = LiveContact(make_frequency(3, watts=100.0, path_snr_db=30.0))

    def after_end_of(kind: str) -> None:
        while not any(o.over.kind == kind for o in live.frequency.trace):
            live.advance(live.now + samples(0.1))
        live.advance(live.frequency.trace[-1].end + samples(0.4))

    for kind, said in (("calling", CALL), ("giving", EXCHANGE), ("ending", EXCHANGE)):
        after_end_of(kind)
        live.act(Act(at=live.now, kind=said))
    live.act(Act(at=live.now + samples(12.0), kind=LEAVE))
    result = contact_result(live, place=0)
    assert result.logs.faults == ("not-in-my-log",)
    assert result.advice is not None
    assert result.advice.kind == "repeated-unasked"


def test_alternate_words_for_a_requested_call_are_a_mistake() -> None:
    live = LiveContact(make_frequency(1, watts=5.0, path_snr_db=10.0))
    ScriptedTrainee(live).run()
    trace = live.frequency.trace
    asking = next(at for at, over in enumerate(trace) if over.over.kind == "asking")
    mine = next(o for o in trace[asking:] if o.speaker == TRAINEE)
    spoken = replace(mine, over=Over(kind=VOICE, words=(), said="echo eight seven america"))
    live.frequency.trace = [spoken if over is mine else over for over in trace]
    assert not contact_result(live, place=0).logs.is_right
    advice = contact_result(live, place=0).advice
    assert advice is not None
    assert advice.kind == "alternate-words"


def test_a_clean_contact_gets_no_advice() -> None:
    result = played(3, watts=100.0, path_snr_db=30.0)
    assert result.logs.is_right
    assert result.advice is None
    assert heading(result) == "Right in both logs."


def test_the_summary_has_a_row_for_each_power() -> None:
    results = [played(seed, watts=watts) for seed in range(4) for watts in (100.0, 5.0)]
    figures = figures_by_power(results)
    assert [entry.watts for entry in figures] == [100.0, 5.0]
    total = summarise_contacts(results)
    assert total.begun == sum(entry.begun for entry in figures) == 8
    assert total.right <= total.completed <= total.begun
    assert session_block(results).table is not None


def test_times_are_written_as_minutes_and_seconds() -> None:
    assert clock(72.9) == "1:12"
