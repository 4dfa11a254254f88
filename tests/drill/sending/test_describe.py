"""Sentences about prompts, reviews and far ends."""

from dataclasses import replace

import pytest

from drill.core.models import Clip
from drill.psychometrics.intervals import Interval
from drill.sending.describe import (
    FINDING_LABELS,
    describe_change,
    describe_far_end,
    describe_finding,
    describe_prompt,
    describe_verdict,
)
from drill.sending.far_end import FarEnd, FarEnds
from drill.sending.intelligibility import EnvelopeCorrelation
from drill.sending.limits import FIGURE_LIMITS
from drill.sending.models import ADVICE, Finding
from drill.sending.prompts import PROMPT_KINDS, compose_prompt
from drill.sending.review import compare_reviews
from tests.drill.sending.takes import (
    CALL_WITH_WRONG_B,
    CALL_WORDS,
    noise_clip,
    own_station,
    review_words,
)


@pytest.mark.parametrize("kind", PROMPT_KINDS)
def test_every_prompt_is_asked_for_in_its_own_sentence(kind: str) -> None:
    prompt = compose_prompt(kind, own_station(), 4)
    sentence = describe_prompt(prompt)
    assert sentence.endswith(".")
    others = {
        describe_prompt(compose_prompt(o, own_station(), 4)) for o in PROMPT_KINDS if o != kind
    }
    assert sentence not in others
    if kind in ("exchange", "answer", "part"):
        assert all(field.text in sentence for field in prompt.fields)
    assert prompt.misheard in sentence


@pytest.mark.parametrize(
    ("passes", "verdict"),
    [
        ((CALL_WORDS,), "Everything was said correctly."),
        ((CALL_WITH_WRONG_B,), "Not everything was correct."),
        ((CALL_WITH_WRONG_B, CALL_WORDS), "Something seems to be wrong, but the recogniser is not"),
        (("",), "This take cannot be judged."),
    ],
)
def test_the_verdict_says_whether_it_was_right(passes: tuple[str, ...], verdict: str) -> None:
    assert describe_verdict(review_words(*passes)).startswith(verdict)


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (CALL_WITH_WRONG_B, "You said delta instead of bravo (B)."),
        ("echo eight seven alfa charlie", "Bravo (B) was left out."),
        ("echo eight seven alfa bravo kilo charlie", "You said kilo, which was not expected."),
        ("echo eight seven bravo alfa charlie", "Bravo was said out of order."),
        ("echo eight seven america bravo charlie", "For A you said america; the standard is alfa."),
        ("echo eight seven alfa alfa bravo charlie", "You said this more than once: alfa."),
        ("echo eight seven alfa bravo er charlie", "You said fillers between the words: er."),
        ("", "No word was recognised."),
    ],
)
def test_a_finding_about_words_names_them(words: str, sentence: str) -> None:
    texts = [describe_finding(finding) for finding in review_words(words).findings]
    assert texts[0].sentence == sentence
    assert texts[0].remedy.endswith(".")


def test_a_doubtful_error_is_said_to_be_doubtful() -> None:
    (finding,) = review_words(CALL_WITH_WRONG_B, CALL_WORDS).findings
    assert describe_finding(finding).sentence == "Perhaps you said delta instead of bravo (B)."


def test_a_correction_is_praised() -> None:
    review = review_words("echo eight seven alfa delta correction alfa bravo charlie")
    (finding,) = (finding for finding in review.findings if finding.kind == "corrected")
    assert describe_finding(finding).sentence == "You corrected yourself: bravo."


@pytest.mark.parametrize("kind", FIGURE_LIMITS)
def test_every_figure_has_a_sentence_and_a_remedy(kind: str) -> None:
    finding = Finding(kind=kind, severity=ADVICE, figure=-0.04)
    text = describe_finding(finding)
    assert text.sentence.endswith(".")
    assert text.remedy.endswith(".")
    assert "-0 dB" not in text.sentence
    assert FINDING_LABELS[kind]


def test_a_change_lists_findings_that_are_gone_new_and_still_there() -> None:
    wrong, right = review_words(CALL_WITH_WRONG_B), review_words(CALL_WORDS)
    slower = replace(right, pace_wpm=right.pace_wpm - 20)
    assert describe_change(compare_reviews(wrong, slower), "your first try") == (
        "Compared with your first try: gone: wrong (B); "
        f"{slower.pace_wpm - wrong.pace_wpm:+.0f} words per minute, level +0 dB."
    )
    assert "new: wrong (B)" in describe_change(compare_reviews(right, wrong), "it")
    assert "still there: wrong (B)" in describe_change(compare_reviews(wrong, wrong), "it")
    assert "no findings in either" in describe_change(compare_reviews(right, right), "it")


def far_ends(behind_db: float | None, half_db: float = 1.2) -> FarEnds:
    """Return the far end of six words, of which the fifth is lost."""
    behind = None
    if behind_db is not None:
        behind = Interval(value=behind_db, low=behind_db - half_db, high=behind_db + half_db)
    clip = Clip(samples=noise_clip().samples, rate_hz=16_000)
    times = tuple((0.15 + 0.4 * n, 0.2 if n == 4 else 0.9) for n in range(6))
    end = FarEnd(
        watts=5.0, snr_db=-3.0, clip=clip, reference_clip=clip, indices=(0.4,),
        reference_indices=(0.5,),
        correlation=EnvelopeCorrelation(bands=((400.0, 0.9), (2000.0, 0.3)), times=times),
    )  # fmt: skip
    return FarEnds(ends=(end,), operator="meadow", behind_db=behind)


def test_the_far_end_is_compared_with_the_reference_voice() -> None:
    review = review_words(CALL_WORDS)
    assert list(describe_far_end(far_ends(2.6), review)) == [
        "Your voice is 2.6 dB worse than meadow (95 %: 1.4 to 3.8).",
        "Most is lost at 5 W in: bravo.",
        "The loss is greatest around 2000 Hz.",
    ]
    sentence = "Your voice is 2.0 dB better than meadow (95 %: 0.8 to 3.2)."
    assert next(describe_far_end(far_ends(-2.0), review)) == sentence
    assert "dB" not in next(describe_far_end(far_ends(None), review))


@pytest.mark.parametrize("behind_db", [-1.1, 0.0, 1.1])
def test_a_difference_within_the_interval_is_not_reported(behind_db: float) -> None:
    sentence = next(describe_far_end(far_ends(behind_db), review_words(CALL_WORDS)))
    assert sentence == (
        "No difference between your voice and meadow is shown; "
        "differences below 1.2 dB cannot be shown."
    )


def test_a_take_of_other_words_is_not_compared() -> None:
    (sentence,) = describe_far_end(far_ends(2.6), review_words("kilo lima"))
    assert "not compared with meadow" in sentence
