"""The far operator's state machine: each rule alone, and all rules together under hypothesis."""

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, precondition, rule

from drill.contact.far_operator import FarOperator
from drill.contact.far_states import TRANSMITTING, Decision, State
from drill.contact.values import load_values
from phonetics.exchanges import load_exchange
from tests.drill.contact.heard import heard_over

VALUES = load_values()
SERIAL = load_exchange("serial")
MOST_OVERS = 30
"""Upper bound for the overs of one contact; the limits in values.toml add up to fewer."""


def listening() -> FarOperator:
    operator = FarOperator(VALUES.far, SERIAL, VALUES.ears.doubt_below)
    operator.start()
    operator.over_ended()
    return operator


def hears(operator: FarOperator, *overs: str) -> Decision:
    """Let the operator hear overs and finish its answer; return the answer."""
    decision = operator.heard([heard_over(text) for text in overs])
    operator.over_ended()
    return decision


def log(operator: FarOperator) -> list[tuple[str, str]]:
    return [(line.call, line.exchange) for line in operator.log]


def test_a_smooth_contact() -> None:
    operator = listening()
    assert hears(operator, "E 8 7 , A B C") == Decision(State.GIVING, tuple("E87ABC"))
    assert hears(operator, "thank you 5 9 , 0 3 4") == Decision(State.ENDING, ())
    assert log(operator) == [("E87ABC", "034")]
    assert operator.state is State.LISTENING


def test_one_gap_is_answered_with_the_exchange_and_asked_for_before_the_log() -> None:
    operator = listening()
    assert hears(operator, "E 8 7 , A ? C") == Decision(State.GIVING, tuple("E87A?C"))
    assert hears(operator, "5 9 , 0 3 4") == Decision(State.ASKING, tuple("E87A?C"))
    assert log(operator) == []
    assert hears(operator, "B , B").state is State.ENDING
    assert log(operator) == [("E87ABC", "034")]


def test_a_wrong_call_stays_wrong_until_it_is_corrected() -> None:
    operator = listening()
    assert hears(operator, "E 8 7 , A P C").call == tuple("E87APC")
    hears(operator, "5 9 , 0 3 4")
    assert log(operator) == [("E87APC", "034")]


def test_a_correction_with_the_exchange_makes_doubt_that_is_asked_for() -> None:
    operator = listening()
    hears(operator, "E 8 7 , A P C")
    decision = hears(operator, "correction E 8 7 , A B C , 5 9 , 0 3 4")
    assert decision == Decision(State.ASKING, tuple("E87A?C"))
    assert hears(operator, "B , B") == Decision(State.ENDING, tuple("E87ABC"))
    assert log(operator) == [("E87ABC", "034")]


def test_a_correction_after_the_end_changes_the_same_line() -> None:
    operator = listening()
    hears(operator, "E 8 7 , A P C")
    hears(operator, "5 9 , 0 3 4")
    assert hears(operator, "correction E 8 7 , A B C").state is State.ASKING
    assert hears(operator, "B , B").state is State.ENDING
    assert log(operator) == [("E87ABC", "034")]


def test_the_better_copied_caller_is_answered() -> None:
    operator = listening()
    assert hears(operator, "E 8 ? , ? ? C", "O H 2 , Q R K").call == tuple("OH2QRK")


def test_requests_are_answered_before_anything_is_asked() -> None:
    operator = listening()
    hears(operator, "E 8 7 , A B C")
    assert hears(operator, "again please your number number again").state is State.REPEATING
    assert hears(operator, "again again please").state is State.GIVING
    assert hears(operator, "again please your call call again").state is State.IDENTIFYING
    assert operator.state is State.AWAITING_EXCHANGE


def test_the_operator_gives_up_after_long_silence() -> None:
    operator = listening()
    hears(operator, "E 8 7 , A B C")
    states = []
    while operator.state is not State.LISTENING:
        states.append(operator.silence().state)
        operator.over_ended()
    assert states == [State.GIVING, State.GIVING, State.DROPPING]
    assert log(operator) == []


def test_the_operator_gives_up_on_a_call_that_stays_unreadable() -> None:
    operator = listening()
    states = [hears(operator, "E ? ? , ? ? C").state]
    while operator.state is not State.LISTENING:
        states.append(hears(operator, "? ? ? , ? ? ?").state)
    assert states == [State.ASKING] * VALUES.far.max_asks + [State.DROPPING]


@pytest.mark.parametrize("said", ["", "? ?", "roger thank you"])
def test_a_voice_that_is_not_a_call_is_answered_by_a_general_call(said: str) -> None:
    assert hears(listening(), said).state is State.CALLING


CHARACTER = st.sampled_from(["E", "8", "7", "A", "B", "C", "P", "0", "3", "4", "5", "9", "?", ","])
WORDS = st.sampled_from(["again", "correction", "thank", "number", "call", "roger", "you"])
OVER = st.lists(st.one_of(CHARACTER, CHARACTER, WORDS), max_size=14).map(" ".join)
GOOD = st.sampled_from(
    ["E 8 7 , A B C", "5 9 , 0 3 4", "correction E 8 7 , A B C", "E 8 ? , A B C", "B , B"]
)


class AnyTalk(RuleBasedStateMachine):
    """Any voices and any silences, in any order."""

    def __init__(self) -> None:
        super().__init__()
        self.operator = FarOperator(VALUES.far, SERIAL, VALUES.ears.doubt_below)
        self.decision = self.operator.start()
        self.log_before: list[tuple[str, str]] = []
        self.overs = 0

    @property
    def transmits(self) -> bool:
        return self.operator.state in TRANSMITTING

    @precondition(lambda self: self.transmits)
    @rule()
    def end_of_own_over(self) -> None:
        self.operator.over_ended()
        assert not self.transmits
        assert self.operator.wait_s > 0  # every listening state has a time-out

    @precondition(lambda self: not self.transmits)
    @rule(voices=st.lists(st.one_of(OVER, GOOD), min_size=1, max_size=3))
    def voices(self, voices: list[str]) -> None:
        self.log_before = log(self.operator)
        heard = [heard_over(text) for text in voices]
        self.operator.is_enough(heard)
        self.answer(self.operator.heard(heard))
        new = [line for line in log(self.operator) if line not in self.log_before]
        if new:  # only copied text changes the far log, and no entry has a gap
            assert self.decision.state is State.ENDING
            assert all("?" not in call + exchange for call, exchange in new)
            assert all(call and exchange for call, exchange in new)

    @precondition(lambda self: not self.transmits)
    @rule()
    def silence(self) -> None:
        self.log_before = log(self.operator)
        self.answer(self.operator.silence())
        if self.decision.state is not State.ENDING:
            assert log(self.operator) == self.log_before

    def answer(self, decision: Decision) -> None:
        self.decision = decision
        assert decision.state is self.operator.state
        assert decision.state in TRANSMITTING  # every over is answered or times out
        closing = (State.CALLING, State.ENDING, State.DROPPING)
        self.overs = 0 if decision.state in closing else self.overs + 1

    @invariant()
    def patience_ends(self) -> None:
        assert self.overs <= MOST_OVERS

    @precondition(lambda self: not self.transmits)
    @rule()
    def a_long_silence_leads_back_to_the_general_call(self) -> None:
        for _ in range(12):
            if self.operator.silence().state is State.CALLING:
                break
            self.operator.over_ended()
        assert self.operator.state is State.CALLING
        self.overs = 0


TestAnyTalk = pytest.mark.slow(AnyTalk.TestCase)
TestAnyTalk.settings = settings(max_examples=150, stateful_step_count=40)
