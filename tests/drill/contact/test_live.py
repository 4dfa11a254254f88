"""One contact on the accelerated clock."""

from dataclasses import replace
from itertools import pairwise

import pytest

from drill.contact.acts import (
    BREAK_OFF,
    CALL,
    CORRECTION,
    EXCHANGE,
    KEYS,
    LEAVE,
    LOG,
    NOTE,
    PART,
    SAYINGS,
    Act,
    compose_saying,
)
from drill.contact.air import samples
from drill.contact.events import SendingEnds, SendingStarts, SoundStarts, StationLeft
from drill.contact.far_states import State
from drill.contact.live import LEFT, LOGGED, STATION_LEFT, LiveContact, replay
from drill.contact.notes import LogEntry
from drill.contact.overs import FAR, TRAINEE, Over
from drill.core.errors import UserError
from tests.drill.contact.scripted_trainee import (
    OWN,
    ScriptedTrainee,
    make_frequency,
    quiet_values,
)


def contact(seed: int = 3, **options: float) -> LiveContact:
    arguments = {"watts": 100.0, "path_snr_db": 30.0, **options}
    return LiveContact(make_frequency(seed, **arguments))  # type: ignore[arg-type]


def story(live: LiveContact) -> list[tuple[int, int, str, str]]:
    return [(o.start, o.end, o.speaker, o.over.text) for o in live.frequency.trace]


def act(live: LiveContact, kind: str, *, after_s: float = 0.0, text: str = "") -> list[object]:
    return list(live.act(Act(at=live.now + samples(after_s), kind=kind, text=text)))


def end_of_general_call(live: LiveContact) -> None:
    live.advance(samples(1.0))
    live.advance(live.frequency.trace[0].end + samples(0.3))


def test_a_smooth_contact_is_right_in_both_logs() -> None:
    live = contact()
    ScriptedTrainee(live).run()
    assert live.ended == LOGGED
    assert [line.call for line in live.frequency.far.operator.log] == [OWN.call]
    assert live.entry.call == live.frequency.station.speaker.call


def test_acts_in_the_past_are_refused() -> None:
    live = contact()
    live.advance(samples(2.0))
    with pytest.raises(ValueError, match="lies in the past"):
        live.act(Act(at=0, kind=CALL))


def test_an_unknown_act_is_refused() -> None:
    with pytest.raises(UserError, match="act"):
        Act(at=0, kind="shout")


def test_half_duplex() -> None:
    live = contact()
    events = live.advance(samples(1.0))
    assert [type(event) for event in events] == [SoundStarts]
    started = act(live, CALL, after_s=0.5)
    assert any(isinstance(event, SendingStarts) for event in started)
    assert live.is_sending
    mine = next(o for o in live.frequency.trace if o.speaker == TRAINEE)
    events = live.advance(mine.end - 1)
    assert not any(isinstance(event, SoundStarts) for event in events)
    events = live.advance(mine.end)
    assert any(isinstance(event, SendingEnds) for event in events)
    assert not live.is_sending
    # The far station was transmitting at the same time, so it heard nothing of the call.
    live.advance(mine.end + samples(0.5))
    heard = [heard for _, overs in live.frequency.far.listenings for heard in overs]
    assert not any(token.text for over in heard for token in over.tokens)


def test_an_act_while_sending_extends_the_same_over() -> None:
    live = contact()
    end_of_general_call(live)
    act(live, CORRECTION)
    act(live, EXCHANGE, after_s=0.2)
    live.advance(live.now + samples(8))
    kinds = [o.over.kind for o in live.frequency.trace if o.speaker == TRAINEE]
    assert kinds == [f"{CORRECTION}+{EXCHANGE}"]


def test_an_over_can_be_broken_off() -> None:
    live = contact()
    end_of_general_call(live)
    act(live, CALL)
    whole = live.frequency.trace[-1]
    act(live, BREAK_OFF, after_s=1.0)
    live.advance(live.now + 1)
    mine = next(o for o in live.frequency.trace if o.speaker == TRAINEE)
    assert mine.end - mine.start == samples(1.0) < whole.end - whole.start
    assert not live.is_sending
    live.advance(live.now + samples(0.4))
    tokens = live.frequency.far.listenings[-1][1][0].tokens
    assert 0 < len(tokens) < 6


def test_notes_count_when_they_are_logged() -> None:
    live = contact()
    act(live, NOTE, text="oh2q?k 59")
    act(live, NOTE, text="oh2qrk")
    assert live.entry == LogEntry(call="OH2QRK", exchange="59")
    act(live, LOG)
    assert live.ended == LOGGED
    assert act(live, NOTE, text="too late") == []


def test_leaving_ends_the_contact() -> None:
    live = contact()
    act(live, LEAVE, after_s=3.0)
    assert (live.ended, live.ended_at) == (LEFT, samples(3.0))
    assert live.next_at is None


def test_the_station_leaves_after_its_time() -> None:
    live = contact()
    live.frequency.values = replace(
        quiet_values(), station=replace(quiet_values().station, stays_s=20.0)
    )
    events = live.advance(samples(60.0))
    assert any(isinstance(event, StationLeft) for event in events)
    assert live.ended == STATION_LEFT


@pytest.mark.parametrize("callers", [0, 2])
def test_the_same_acts_give_the_same_contact(callers: int) -> None:
    first = contact(11, callers=callers, path_snr_db=12.0, watts=5.0)
    ScriptedTrainee(first).run()
    second = contact(11, callers=callers, path_snr_db=12.0, watts=5.0)
    replay(second, first.acts)
    assert story(first) == story(second)
    assert first.frequency.far.listenings == second.frequency.far.listenings


def test_the_size_of_time_steps_does_not_change_the_contact() -> None:
    coarse, fine = contact(5, callers=2), contact(5, callers=2)
    for second in range(60):
        fine.advance(samples(second))
    coarse.advance(samples(59))
    assert story(coarse) == story(fine)


def test_another_power_changes_only_who_hears_the_trainee() -> None:
    weak, strong = contact(5, watts=5.0), contact(5, watts=100.0)
    for live in (weak, strong):
        end_of_general_call(live)
    assert story(weak) == story(strong)
    assert weak.frequency.station == strong.frequency.station


def test_the_keys_are_letters_with_one_meaning_each() -> None:
    assert len(set(KEYS.values())) == len(KEYS)
    assert set(SAYINGS) | {LOG} == set(KEYS.values())
    assert not set(KEYS) & set("nsdivcrk.=?")


@pytest.mark.parametrize(
    ("kind", "held", "said"),
    [
        (State.ASKING, "E87A?C", "bravo, bravo"),
        (State.ASKING, "E?7A?C", "eight bravo, eight bravo"),
        (State.ASKING, "E87???", "echo eight seven, alfa bravo charlie"),
        (State.ASKING, "E87APC", "echo eight seven, alfa bravo charlie"),
        (State.ASKING_EXCHANGE, "", "zero three four, zero three four"),
        (State.CALLING, "", "echo eight seven, alfa bravo charlie"),
    ],
)
def test_the_key_for_a_part_says_what_they_asked_for(kind: State, held: str, said: str) -> None:
    far = Over(kind=kind.value, words=(), call=tuple(held))
    spoken = compose_saying(PART, OWN, far, LogEntry()).text.replace(", ", " ").replace(",", "")
    assert spoken == said.replace(", ", " ")


def test_missing_entries_follow_from_the_notes() -> None:
    without_call = compose_saying("again-part", OWN, None, LogEntry(call="OH2Q?K"))
    without_number = compose_saying("again-part", OWN, None, LogEntry(call="OH2QRK"))
    assert "call" in without_call.text
    assert "number" in without_number.text


def test_far_overs_never_overlap() -> None:
    live = contact(8, callers=3, path_snr_db=8.0, watts=20.0)
    ScriptedTrainee(live).run()
    overs = [o for o in live.frequency.trace if o.speaker == FAR]
    for before, after in pairwise(overs):
        assert before.end <= after.start
