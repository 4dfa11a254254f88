"""Findings about the words of a take."""

from drill.sending.models import ADVICE, FAULT, UNSURE, Finding
from tests.drill.sending.takes import CALL_WITH_WRONG_B, CALL_WORDS, call_prompt, review_words


def finding_of(kind: str, *passes: str, confidence: float = 0.9) -> Finding:
    """Return the only finding of a kind."""
    review = review_words(*passes, confidence=confidence)
    (finding,) = (finding for finding in review.findings if finding.kind == kind)
    return finding


def test_an_error_is_a_fault_with_its_word() -> None:
    finding = finding_of("wrong", CALL_WITH_WRONG_B)
    assert (finding.severity, finding.about) == (FAULT, ("B",))
    assert [(word.spoken, word.expected) for word in finding.words] == [("delta", "bravo")]


def test_an_error_that_the_second_pass_denies_is_unsure() -> None:
    finding = finding_of("unsure", CALL_WITH_WRONG_B, CALL_WORDS)
    assert (finding.severity, finding.about) == (UNSURE, ("B",))
    assert finding.words[0].result == "wrong"


def test_another_code_word_is_advice_and_the_take_is_right() -> None:
    review = review_words("echo eight seven america bravo charlie")
    (form,) = (finding for finding in review.findings if finding.kind == "form")
    assert (form.severity, form.about) == (ADVICE, ("A",))
    assert [(word.spoken, word.expected) for word in form.words] == [("america", "alfa")]
    assert review.right


def test_icao_digits_are_not_findings() -> None:
    review = review_words("echo eight niner alfa", prompt=call_prompt("E89A"))
    assert "form" not in {finding.kind for finding in review.findings}
    assert "niner" in {word.spoken for word in review.words if word.result == "form"}


def test_repetitions_corrections_and_fillers_are_advice() -> None:
    words = "echo eight uh seven alfa delta correction alfa bravo charlie"
    assert finding_of("again", words).about == ("alfa",)
    assert finding_of("corrected", words).about == ("B",)
    assert finding_of("filler", words).about == ("uh",)


def test_right_words_with_little_confidence_are_unclear() -> None:
    finding = finding_of("unclear", CALL_WORDS, confidence=0.05)
    assert (finding.severity, finding.about) == (UNSURE, tuple("E87ABC"))


def test_a_take_without_words_is_one_finding_about_words() -> None:
    assert finding_of("nothing", "").severity == UNSURE
