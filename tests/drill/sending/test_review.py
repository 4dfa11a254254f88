"""Reviews of takes with known words, and of takes with known defects."""

import pytest

from drill.core.structuring import to_data
from drill.recogniser import RecognisedWord
from drill.sending.history import stored_review
from drill.sending.models import FAULT
from drill.sending.review import (
    SpeakingRate,
    compare_reviews,
    measure_speaking_rate,
    review_take,
)
from drill.voices.operators import find_operator
from tests.drill.sending.takes import CALL_WITH_WRONG_B, CALL_WORDS, review_words
from tests.tools.defect_table import prompt_for_defect
from tests.tools.defects import DEFECTS, spoil_take


def test_a_speaking_rate_is_measured() -> None:
    """Expected figures calculated by hand: 3 words and 6 syllables in 2 s."""
    words = [
        RecognisedWord(say=say, start_s=start_s, end_s=end_s, confidence=1)
        for say, start_s, end_s in (("alfa", 0, 0.5), ("one", 0.6, 0.8), ("november", 1.4, 2.0))
    ]
    rate = measure_speaking_rate(words)
    assert rate.pace_wpm == pytest.approx(90)
    assert rate.syllables_per_s == pytest.approx(3)
    assert rate.longest_pause_s == pytest.approx(0.6)
    assert measure_speaking_rate(words[:1]) == SpeakingRate()


def test_a_review_is_right_only_without_errors() -> None:
    assert review_words(CALL_WORDS).right
    assert not review_words(CALL_WITH_WRONG_B).right
    assert not review_words("").right


@pytest.mark.parametrize("name", DEFECTS)
def test_each_defect_is_found_and_no_other(name: str) -> None:
    """A few takes of the kind that tests/measured/defects.md counts."""
    defect = DEFECTS[name]
    operator = find_operator("slate" if name != "hurried" else "meadow")
    review = review_take(spoil_take(prompt_for_defect(defect, 3), operator, defect, 3))
    reported = {
        finding.kind
        for finding in review.findings
        if finding.severity == FAULT or finding.kind in defect.findings
    }
    assert reported == defect.findings
    assert stored_review(to_data(review)) == review


def test_a_later_review_is_compared_with_an_earlier_one() -> None:
    first, second = review_words(CALL_WITH_WRONG_B), review_words(CALL_WORDS)
    change = compare_reviews(first, second)
    assert [(finding.kind, finding.about) for finding in change.gone] == [("wrong", ("B",))]
    assert change.new == ()
    back = compare_reviews(second, first)
    assert [(finding.kind, finding.about) for finding in back.new] == [("wrong", ("B",))]
    same = compare_reviews(first, first)
    assert (same.gone, same.new) == ((), ())
    assert same.stayed == first.findings
