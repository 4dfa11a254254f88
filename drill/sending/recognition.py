"""Recognises a take in two passes and compares the words with the prompt.

The first pass favours the expected words, so that a correct take is recognised as correct. If it
deviates from the prompt or is unsure about a word, a second pass without that preference checks it:
a deviation counts as certain only if both passes show it.
"""

from collections.abc import Sequence
from dataclasses import replace

from drill.recogniser import RecognisedWord, Recogniser
from drill.sending.align import AlignmentStep, align_words
from drill.sending.expected import ExpectedGraph, expected_graph
from drill.sending.models import ReviewedWord, Take, WordResult
from drill.sending.take_grammar import BIASED_WEIGHTS, UNBIASED_WEIGHTS, take_grammar

EXPECTED_STEPS = frozenset({"right", "procedure", "filler"})
MIN_ERROR_CONFIDENCE = 0.6
"""Minimum confidence for reporting a wrong, extra or misplaced word. On the tuning voices all 16
real errors scored above 0.6. Correct words of a person, recorded at 8 kHz, that were mistaken for
other words scored below it. On other voices about a third of real errors score lower and are
reported as 'not sure'."""
CORRECT_RESULTS = frozenset({"right", "form"})


def recognise_take(
    take: Take, recogniser: Recogniser
) -> tuple[tuple[RecognisedWord, ...], tuple[ReviewedWord, ...]]:
    """Return the recognised words of a take, and the same words compared with the prompt.

    The recognised words are those of the first pass; the second pass determines the words that were
    spoken in place of expected ones.

    Raises: NoRecogniser; UserError if a word of the prompt cannot be pronounced.
    """
    graph = expected_graph(take.prompt)
    words = recogniser.recognise(take.clip, take_grammar(graph, BIASED_WEIGHTS))
    steps = align_words([word.say for word in words], graph)
    reviewed = _review_words(words, steps, graph, recogniser.unsure_below)
    as_expected = all(step.kind in EXPECTED_STEPS for step in steps)
    if not as_expected or any(word.confidence < recogniser.unsure_below for word in words):
        other_words = recogniser.recognise(take.clip, take_grammar(graph, UNBIASED_WEIGHTS))
        other_steps = align_words([word.say for word in other_words], graph)
        second = _review_words(other_words, other_steps, graph, recogniser.unsure_below)
        reviewed = [_confirm(word, second) for word in reviewed]
    return words, tuple(_doubt_missing_repeats(reviewed))


def _review_words(
    words: Sequence[RecognisedWord],
    steps: Sequence[AlignmentStep],
    graph: ExpectedGraph,
    unsure_below: float,
) -> list[ReviewedWord]:
    """Return a reviewed word for every step of an alignment except those that go back."""
    returns = [index for index, step in enumerate(steps) if step.kind == "back"]
    reviewed = []
    for index, step in enumerate(steps):
        if step.kind == "back":
            continue
        word = _reviewed_word(words, step, graph)
        if step.expected is not None:
            word = _mark_repetition(word, index, step.expected.unit, steps, returns)
        reviewed.append(replace(word, sure=_is_sure(word, unsure_below)))
    return reviewed


def _reviewed_word(
    words: Sequence[RecognisedWord], step: AlignmentStep, graph: ExpectedGraph
) -> ReviewedWord:
    """Return the reviewed word of a step, considered by itself."""
    assert step.kind != "back"
    word = None if step.recognised is None else words[step.recognised]
    result: WordResult = step.kind
    expected = means = field = ""
    if step.expected is not None:
        unit = graph.units[step.expected.unit]
        expected, means, field = step.expected.say, unit.means, unit.field
        if result == "right" and step.expected.form and means:
            result, expected = "form", " ".join(unit.forms[0])
    return ReviewedWord(
        spoken="" if word is None else word.say,
        expected=expected,
        means=means,
        field=field,
        result=result,
        start_s=0.0 if word is None else word.start_s,
        end_s=0.0 if word is None else word.end_s,
        confidence=0.0 if word is None else word.confidence,
    )


def _mark_repetition(
    word: ReviewedWord,
    index: int,
    unit: int,
    steps: Sequence[AlignmentStep],
    returns: Sequence[int],
) -> ReviewedWord:
    """Return the word as "corrected" or "again" if its unit was said more than once.

    index: index of the word's step. returns: indices of the steps that go back.
    """
    same_unit = [
        other
        for other, step in enumerate(steps)
        if step.expected is not None and step.expected.unit == unit
    ]
    earlier = [other for other in same_unit if other < index]
    said_later = any(index < at < same_unit[-1] for at in returns)
    said_before = any(other < at < index for other in earlier for at in returns)
    if said_later and word.result not in CORRECT_RESULTS:
        return replace(word, result="corrected")
    was_right = all(steps[other].kind == "right" for other in earlier)
    if said_before and was_right and word.result in CORRECT_RESULTS:
        return replace(word, result="again")
    return word


def _is_sure(word: ReviewedWord, unsure_below: float) -> bool:
    """Return True if the sound supports the result; a missing word has no sound that could."""
    if word.result == "missing":
        return True
    is_error = word.result in ("wrong", "extra", "order")
    return word.confidence >= (MIN_ERROR_CONFIDENCE if is_error else unsure_below)


def _confirm(word: ReviewedWord, second_pass: Sequence[ReviewedWord]) -> ReviewedWord:
    """Return a deviation with the word that the second pass recognised.

    The deviation is unsure if the second pass does not show it. Other words are returned unchanged.
    """
    if word.result in (*EXPECTED_STEPS, "form", "again"):
        return word
    same = [
        other
        for other in second_pass
        if (other.result, other.expected, other.means) == (word.result, word.expected, word.means)
    ]
    if not same:
        return replace(word, sure=False)
    if word.result == "missing":
        return word
    nearest = min(same, key=lambda other: abs(other.start_s - word.start_s))
    return replace(
        word,
        spoken=nearest.spoken,
        confidence=nearest.confidence,
        sure=word.sure and nearest.sure,
    )


def _doubt_missing_repeats(words: Sequence[ReviewedWord]) -> list[ReviewedWord]:
    """Return the words; a missing word is marked unsure if the same word was said beside it.

    "eight eight" without a break sounds like one long "eight".
    """
    result = list(words)
    for index, word in enumerate(words):
        neighbours = [words[n].spoken for n in (index - 1, index + 1) if 0 <= n < len(words)]
        if word.result == "missing" and word.expected in neighbours:
            result[index] = replace(word, sure=False)
    return result
