from hypothesis import given
from hypothesis import strategies as st

from drill.contact.evidence import Evidence
from drill.contact.overs import MISSED
from drill.contact.understanding import is_call_form

CHARACTERS = st.sampled_from("ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789")
TRIES = st.lists(st.one_of(CHARACTERS, st.just(MISSED)), min_size=1, max_size=8)


def held(*tries: str) -> str:
    evidence = Evidence()
    for heard in tries:
        evidence = evidence.add(tuple(heard))
    return evidence.text


def test_another_try_fills_the_gaps() -> None:
    assert held("E8?A?C", "E87??C", "?87AB?") == "E87ABC"


def test_two_different_characters_raise_doubt() -> None:
    assert held("E87APC", "E87ABC") == "E87A?C"
    assert held("E87APC", "E87ABC", "E87ABC") == "E87ABC"


def test_a_correction_with_two_votes_wins_at_once() -> None:
    evidence = Evidence().add(tuple("E87APC")).add(tuple("E87ABC"), 2)
    assert evidence.text == "E87ABC"


def test_a_character_that_was_lost_does_not_shift_the_others() -> None:
    assert held("E87BC", "E87ABC", "E87ABC") == "E87ABC"
    assert held("E87ABC", "E87BC", "E87ABC") == "E87ABC"


def test_a_repeated_part_fills_the_gaps() -> None:
    evidence = Evidence().add(tuple("E?7A?C"))
    assert evidence.add_part([("8", "B"), ("8", "B")], 1, is_call_form).text == "E87ABC"
    assert evidence.add_part([("8", MISSED), (MISSED, "B")], 1, is_call_form).text == "E87ABC"


def test_a_part_is_placed_where_its_characters_agree() -> None:
    evidence = Evidence().add(tuple("E8?ABC"))
    assert evidence.add_part([("8", "7", "A")], 1, is_call_form).text == "E87ABC"


def test_a_whole_call_completes_a_fragment() -> None:
    evidence = Evidence().add(("B", "C"))
    assert evidence.fits(tuple("E87ABC"))
    assert evidence.add(tuple("E87ABC")).text == "E87ABC"
    assert not evidence.fits(tuple("OH2QRK"))


def test_the_call_of_another_station_does_not_fit() -> None:
    evidence = Evidence().add(tuple("E87ABC"))
    assert evidence.fits(tuple("E8?ABC"))
    assert not evidence.fits(tuple("OH2QRK"))


@given(st.lists(TRIES, min_size=1, max_size=6))
def test_any_tries_leave_the_evidence_consistent(tries: list[list[str]]) -> None:
    evidence = Evidence()
    for heard in tries:
        evidence = evidence.add(heard)
    assert evidence.copied + evidence.gaps == len(evidence.held)
    said = {character for heard in tries for character in heard}
    assert set(evidence.held) <= said | {MISSED}


@given(st.lists(CHARACTERS, min_size=3, max_size=8), st.integers(1, 4))
def test_the_same_try_again_changes_nothing(call: list[str], times: int) -> None:
    evidence = Evidence()
    for _ in range(times):
        evidence = evidence.add(call)
    assert evidence.held == tuple(call)
    assert evidence.is_whole
    assert evidence.compare(call) == (len(call), 0)
