"""Costs of characters, words and operators from recorded answers."""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from drill.session.kinds.practice import Practice
from drill.weakspots.statistics import (
    LABEL_KINDS,
    alignment_is_reliable,
    character_evidence,
    label_costs_by_kind,
    label_observations,
    usable_snr_db,
    word_style,
)
from tests.drill.simulated_trainee import SimulatedTrainee, answer_items
from tests.drill.weakspots.answers import PLAN, answer_again, as_recorded, recorded_answer


def stored_score(pairs: list[tuple[str, str]], *, right: bool = False) -> dict[str, Any]:
    """Return one field's score as the record stores it, with the entries that matter here."""
    return {
        "right": right,
        "copied": "".join(typed for _, typed in pairs),
        "pairs": [{"sent": sent, "copied": typed} for sent, typed in pairs],
    }


def test_every_character_sent_has_its_word_and_position() -> None:
    answer = recorded_answer("{0}")
    call = answer.item["message"]["call"]
    evidence = list(character_evidence([answer]))
    assert "".join(each.character for each in evidence) == call
    assert [each.position for each in evidence] == [f"call {n}" for n in range(1, len(call) + 1)]
    assert all(each.right and each.typed == each.character for each in evidence)
    assert {each.snr_db for each in evidence} == {answer.snr_db}
    assert {each.operator for each in evidence} == {answer.item["operator"]["name"]}
    itu = [each for each in evidence if each.word_style == "letters, ITU word"]
    assert itu
    assert all(each.word[0].upper() == each.character for each in itu)


def test_a_wrong_character_is_recorded_with_the_one_typed_for_it() -> None:
    call = recorded_answer("{0}").item["message"]["call"]
    other = "A" if call[-1] != "A" else "B"
    *first, last = character_evidence([recorded_answer(call[:-1] + other)])
    assert all(each.right for each in first)
    assert not last.right
    assert (last.character, last.typed) == (call[-1], other)


@pytest.mark.parametrize("typed", [".", "K", "{0}{0}XX"])
def test_an_answer_without_reliable_alignment_gives_no_evidence(typed: str) -> None:
    assert list(character_evidence([recorded_answer(typed)])) == []


def test_only_answers_in_noise_heard_once_and_not_given_up_are_usable() -> None:
    answer = recorded_answer("{0}")
    assert list(character_evidence([answer]))
    assert usable_snr_db(answer) == answer.snr_db
    for other in (
        answer._replace(snr_db=None),
        answer._replace(answer={**answer.answer, "gave_up": True}),
        answer._replace(answer={**answer.answer, "replays": 1}),
    ):
        assert list(character_evidence([other])) == []
        assert usable_snr_db(other) is None


def test_a_field_that_is_right_by_value_is_right_in_every_character() -> None:
    """For the serial number 007 typed as 7, no character was missed."""
    plan = replace(PLAN, part="over", exchange="serial", seed=12)
    number = recorded_answer("{2}", plan).item["message"]["fields"][2]
    assert number["text"].startswith("0")
    answer = recorded_answer(f"{{0}} {{1}} {number['text'].lstrip('0')}", plan)
    evidence = [
        each for each in character_evidence([answer]) if each.position.startswith(number["name"])
    ]
    assert len(evidence) == len(number["text"])
    assert all(each.right for each in evidence)


@pytest.mark.parametrize(
    ("say", "means", "style"),
    [
        ("alfa", "A", "letters, ITU word"),
        ("america", "A", "letters, other word"),
        ("nine", "9", "figures, plain"),
        ("oh", "0", "figures, plain"),
        ("niner", "9", "figures, ICAO word"),
        ("novenine", "9", "figures, ITU word"),
        ("twenty-six", "26", "several figures in a word"),
        ("portable", "/P", "several letters in a word"),
    ],
)
def test_word_styles(say: str, means: str, style: str) -> None:
    """Words from ITU Radio Regulations Appendix 14 and ICAO Annex 10; the others are common
    practice, no source."""
    assert word_style(say, means) == style


def test_costs_are_recovered_from_answers() -> None:
    """For this listener Q needs 4 dB and Z 3 dB more than the other characters."""
    hard = {"Q": 4.0, "Z": 3.0}
    plan = replace(PLAN, count=600)
    attempts = answer_items(Practice(plan=plan), SimulatedTrainee(x50_db=-2.0, hard=hard))
    # The plan has a single SNR; spread the SNRs as in practice over several weeks.
    snrs_db = np.random.default_rng(1).uniform(-6, 4, len(attempts))
    trainee = SimulatedTrainee(seed=2, x50_db=-2.0, hard=hard)
    answered = []
    for attempt, snr_db in zip(attempts, snrs_db, strict=True):
        conditions = replace(attempt.item.conditions, snr_db=snr_db)
        item = replace(attempt.item, conditions=conditions)
        answered.append(answer_again(replace(attempt, item=item), trainee.type_answer(item)))
    costs = label_costs_by_kind(as_recorded(answered))
    characters = costs["character"]
    highest = sorted(characters, key=lambda c: -characters[c].cost_db.value)[:2]
    assert set(highest) == {"Q", "Z"}
    assert characters["Q"].cost_db.low > 0.5
    others = [
        abs(cost.cost_db.value)
        for character, cost in characters.items()
        if character not in "QZ" and cost.has_enough_data
    ]
    assert max(others) < 2.0
    assert set(costs) == set(LABEL_KINDS)


def test_a_label_counts_once_per_answer() -> None:
    evidence = list(character_evidence([recorded_answer("{0}")]))
    (observation,) = label_observations([evidence], "voice")
    assert observation.label == evidence[0].operator
    assert observation.right == 1.0


def test_without_answers_no_label_has_a_cost() -> None:
    assert label_costs_by_kind([]) == {kind: {} for kind in LABEL_KINDS}


@pytest.mark.parametrize(
    ("pairs", "reliable"),
    [
        # One error in four, with a gap: fewer than half.
        ([("A", "A"), ("B", "B"), ("C", "C"), ("D", "")], True),
        # Two errors in five, with gaps: fewer than half.
        ([("A", "A"), ("B", "B"), ("C", "C"), ("D", ""), ("E", "")], True),
        # Two errors in four, with gaps: exactly half is not reliable.
        ([("A", "A"), ("B", "B"), ("C", ""), ("D", "")], False),
        # An inserted character is an error too: 2 of 4.
        ([("A", "A"), ("B", "B"), ("C", "C"), ("D", ""), ("", "E")], False),
        # One character typed for each one sent is reliable, even if all are wrong.
        ([("A", "B"), ("C", "D")], True),
        ([("A", "B")], True),
        # Nothing typed.
        ([("A", ""), ("B", "")], False),
    ],
)
def test_an_alignment_is_reliable_if_fewer_than_half_of_the_characters_are_wrong(
    pairs: list[tuple[str, str]], reliable: bool
) -> None:
    assert alignment_is_reliable(stored_score(pairs)) is reliable


def test_a_field_that_is_right_without_being_typed_gives_no_evidence() -> None:
    """A report of 59 may be left out of the answer."""
    assert not alignment_is_reliable(stored_score([("5", ""), ("9", "")], right=True))
    assert alignment_is_reliable(stored_score([("0", ""), ("7", "7")], right=True))


@given(st.integers(1, 12), st.integers(0, 12))
def test_reliability_changes_at_exactly_half(sent: int, missing: int) -> None:
    missing = min(missing, sent)
    pairs = [("A", "A")] * (sent - missing) + [("A", "")] * missing
    typed_something = missing < sent
    expected = typed_something and missing < sent / 2
    assert alignment_is_reliable(stored_score(pairs)) is expected
