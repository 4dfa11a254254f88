"""What answers tell of characters and words."""

from dataclasses import replace

import numpy as np
import pytest

from drill.core.models import Attempt
from drill.core.structuring import to_data
from drill.items.plan import Plan
from drill.records.sessions import RawAttempt
from drill.scoring.answers import score
from drill.session.kinds.practice import Practice
from drill.weakspots.statistics import (
    KINDS,
    alignment_is_reliable,
    costs,
    evidence,
    observations,
    style_of,
)
from tests.drill.typist import Typist, run

PLAN = Plan(seed=8, count=400, mix="unassigned", voices=("tin", "wren"))


def raw(attempts: list[Attempt], mode: str = "practice") -> list[RawAttempt]:
    return [
        RawAttempt(
            mode=mode,
            session="one",
            number=number,
            answered_at=a.answered_at,
            snr_db=a.item.conditions.snr_db,
            right=a.right,
            item=to_data(a.item),
            answer=to_data(a.answer),
            scores=[to_data(s) for s in a.scores],
        )
        for number, a in enumerate(attempts)
    ]


def answered(text: str, number: int = 0, plan: Plan = PLAN) -> RawAttempt:
    """Return one answer to an item of the plan; {0} stands for the call."""
    (attempt,) = run(Practice(plan=replace(plan, count=1)), Typist(), most=1)
    fields = attempt.item.message.fields
    text = text.format(*(f.text for f in fields))
    return raw(
        [
            replace(
                attempt,
                answer=replace(attempt.answer, typed=text),
                scores=score(fields, text),
            )
        ]
    )[0]


def test_every_character_has_its_word_and_place() -> None:
    row = answered("{0}")
    call = row.item["message"]["call"]
    found = list(evidence([row]))
    assert "".join(one.character for one in found) == call
    assert [one.position for one in found] == [f"call {n}" for n in range(1, len(call) + 1)]
    assert all(one.right and one.copied == one.character for one in found)
    for one in found:
        if one.character.isalpha() and one.style == "letters, ITU word":
            assert one.word[0].upper() == one.character


def test_a_wrong_character_is_told_with_what_stands_for_it() -> None:
    call = answered("{0}").item["message"]["call"]
    row = answered(call[:-1] + ("A" if call[-1] != "A" else "B"))
    *head, last = evidence([row])
    assert all(one.right for one in head)
    assert not last.right
    assert (last.character, last.copied) == (call[-1], "A" if call[-1] != "A" else "B")


@pytest.mark.parametrize("text", [".", "K", "{0}{0}XX"])
def test_guesswork_tells_nothing(text: str) -> None:
    assert list(evidence([answered(text)])) == []


def test_given_up_heard_again_or_clean_tells_nothing() -> None:
    row = answered("{0}")
    assert list(evidence([row]))
    for other in (
        row._replace(snr_db=None),
        row._replace(answer={**row.answer, "gave_up": True}),
        row._replace(answer={**row.answer, "replays": 1}),
    ):
        assert list(evidence([other])) == []


def test_a_field_that_is_right_by_value_is_right_in_every_character() -> None:
    """A serial number of 007 typed as 7: no character of it was missed."""
    plan = replace(PLAN, part="over", exchange="serial", seed=12)
    number = answered("{2}", plan=plan).item["message"]["fields"][2]
    assert number["text"].startswith("0")
    row = answered(f"{{0}} {{1}} {number['text'].lstrip('0')}", plan=plan)
    serial = [one for one in evidence([row]) if one.position.startswith(number["name"])]
    assert len(serial) == len(number["text"])
    assert all(one.right for one in serial)


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
def test_kinds_of_words(say: str, means: str, style: str) -> None:
    """Words of ITU Appendix 14 and ICAO Annex 10; others common practice, no source."""
    assert style_of(say, means) == style


def test_costs_are_found_and_shrunk() -> None:
    """Q costs this listener 4 dB and Z 3 dB; the rest is alike."""
    plan = replace(PLAN, count=600)
    attempts = run(Practice(plan=plan), Typist(x50_db=-2.0, hard={"Q": 4.0, "Z": 3.0}))
    rng = np.random.default_rng(1)
    # The plan has one SNR: spread it, as practice does over weeks.
    spread = [
        replace(a, item=replace(a.item, conditions=replace(a.item.conditions, snr_db=snr)))
        for a, snr in zip(attempts, rng.uniform(-6, 4, len(attempts)), strict=True)
    ]
    typist = Typist(seed=2, x50_db=-2.0, hard={"Q": 4.0, "Z": 3.0})
    again = []
    for a in spread:
        text = typist.types(a.item)
        again.append(
            replace(
                a,
                answer=replace(a.answer, typed=text),
                scores=score(a.item.message.fields, text),
            )
        )
    found = costs(raw(again))
    characters = found["character"]
    dear = sorted(characters, key=lambda c: -characters[c].cost_db.value)[:2]
    assert set(dear) == {"Q", "Z"}
    assert characters["Q"].cost_db.low > 0.5
    others = [o.cost_db.value for c, o in characters.items() if c not in "QZ" and o.has_enough_data]
    assert max(map(abs, others)) < 2.0
    assert set(found) == set(KINDS)


def test_a_label_counts_once_in_an_answer() -> None:
    row = answered("{0}")
    voice = observations([list(evidence([row]))], "voice")
    assert len(voice) == 1
    assert voice[0].right == 1.0
    assert costs([]) == {kind: {} for kind in KINDS}


def test_tells() -> None:
    pair = {"sent": "A", "copied": "A"}
    assert not alignment_is_reliable(
        {"right": True, "copied": "", "pairs": [pair]}
    )  # left out as the report may
    assert alignment_is_reliable(
        {"right": False, "copied": "B", "pairs": [{"sent": "A", "copied": "B"}]}
    )
