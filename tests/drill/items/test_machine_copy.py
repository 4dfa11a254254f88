"""Copying an item by recogniser."""

from drill.core.conditions import Conditions
from drill.items.machine_copy import call_from_words, copy_item, machine_scores
from drill.items.plan import Plan, compose_item
from drill.recogniser import RecognisedWord, find_recogniser
from tests.drill.machine_copies import SilentRecogniser

PLAN = Plan(
    seed=6,
    count=4,
    mix="unassigned",
    voices=("tin", "wren"),
    conditions=Conditions(snr_db=20.0),
)


def test_the_recogniser_copies_what_is_sent_in_little_noise() -> None:
    recogniser = find_recogniser("own")
    copies = [copy_item(compose_item(PLAN, number), recogniser) for number in range(4)]
    assert {copy.recogniser for copy in copies} == {f"own {recogniser.version}"}
    assert [copy.right for copy in copies].count(True) >= 3
    assert copies[0].typed == compose_item(PLAN, 0).message.call


def test_a_copy_without_recognised_words_is_wrong() -> None:
    class Deaf(SilentRecogniser):
        def recognise(self, *_: object) -> tuple[RecognisedWord, ...]:
            return ()

    copy = copy_item(compose_item(PLAN, 0), Deaf())
    assert (copy.typed, copy.right) == ("", False)


def test_words_become_the_call_that_a_trainee_would_type() -> None:
    assert call_from_words(["echo", "uh", "niner", "abc".upper()[0], "slash", "papa"]) == "E9A/P"
    assert call_from_words(["kilo", "maritime", "mobile"]) == "K/MM"
    assert call_from_words([]) == ""


def test_a_copy_is_scored_like_an_answer() -> None:
    item = compose_item(PLAN, 0)
    (score,) = machine_scores(item, item.message.call.lower())
    assert score.right
    (score,) = machine_scores(item, item.message.call[:-1])
    assert not score.right
