"""Every piece of advice has its sentence, with the figures of the record."""

import re
from dataclasses import replace

import pytest

from drill.hunt.advice import HUNT_ADVICE, HuntFacts, best_advice
from drill.hunt.advice_wording import advice_texts, no_advice_sentence
from drill.hunt.results import HuntAdvice, StationOption
from tests.drill.hunt.checked import HZ, checked
from tests.drill.hunt.hunts import hunt, judged, stop

CONTACTS = (
    checked(theirs=("E87APC", "034")),
    checked(theirs=None),
    checked(logged="OH2QRA 212"),
    checked(logged=None),
)
SILENT = stop(replied=False, times_s=(10.0, 700.0, 0.0, 0.0), calls=9, too_long_s=660.0)
RESULT = replace(
    hunt(
        (
            judged(stop(), contact=0, mistakes=("exchange-while-wrong",)),
            judged(SILENT, expected_s=1140.0, better_s=120.0),
        ),
        CONTACTS,
    ),
    passed=(StationOption(call="OF1QUN", hz=HZ, expected_s=30.0),),
)


@pytest.mark.parametrize("kind", HUNT_ADVICE)
def test_every_kind_of_advice_has_sentences(kind: str) -> None:
    for place, count in ((0, 1), (1, 4)):
        advice = HuntAdvice(kind=kind, cost_s=660.0, count=count, stop=place, seconds=660.0)
        if kind == "mend-at-once" and place == 1:
            continue  # no contact was made at that stop
        sentence, figures = advice_texts(RESULT, advice)
        assert sentence.endswith(".")
        assert figures.endswith(".")
        assert re.search("[0-9]", sentence + figures)
        assert "None" not in sentence + figures


def test_advice_on_leaving_too_late() -> None:
    facts = HuntFacts(seconds=3600.0, tuning_s=60.0, contacts=(), stops=RESULT.stops[1:], passed=())
    (advice,) = best_advice(facts)
    sentence, figures = advice_texts(replace(RESULT, stops=RESULT.stops[1:]), advice)
    assert sentence == "Leave 14 200.0 after three calls. You stayed 11 minutes longer."
    assert figures == (
        "2 other stations called it. Expected time until it answers 5 W: 19 minutes (6 min to "
        "38 min). OF1QUN on 14 203.0: 2 minutes."
    )


def test_advice_on_a_wrong_call_names_the_call() -> None:
    advice = HuntAdvice(kind="mend-at-once", cost_s=900.0, count=1, stop=0)
    assert advice_texts(RESULT, advice)[0] == (
        "Correct a wrong call at once (key w). OH2QRK has logged E87APC."
    )


def test_without_advice() -> None:
    assert "called no station" in no_advice_sentence(hunt())
    assert "No habit" in no_advice_sentence(RESULT)


def test_leaving_after_a_long_wait() -> None:
    waited = stop(replied=False, times_s=(210.0, 0.0, 0.0, 0.0), calls=0, too_long_s=120.0)
    result = hunt((judged(waited, expected_s=200.0, better_s=20.0),))
    advice = HuntAdvice(kind="leave-sooner", cost_s=120.0, count=1, stop=0, seconds=120.0)
    assert advice_texts(result, advice)[0] == (
        "Leave 14 200.0 after 90 seconds without an answer. You stayed 2 minutes longer."
    )
