"""Findings about the words of a take: errors, doubts and habits."""

from collections import defaultdict
from collections.abc import Iterator, Sequence

from drill.sending.models import ADVICE, ERROR_RESULTS, FAULT, UNSURE, Finding, ReviewedWord
from phonetics.numerals import digit_word
from phonetics.over_style import OverStyle

ICAO_DIGITS = frozenset(digit_word(digit, OverStyle(figures="icao")) for digit in "123456789")
"""These are as standard as plain digits: ICAO Annex 10 Volume II, 5.2.1.4.3.1."""


def word_findings(words: Sequence[ReviewedWord]) -> Iterator[Finding]:
    """Yield the findings about the words of a take."""
    if not any(word.spoken for word in words):
        yield Finding(kind="nothing", severity=UNSURE)
        return
    for result in ERROR_RESULTS:
        for word in words:
            if word.result == result:
                yield Finding(
                    kind=result if word.sure else "unsure",
                    severity=FAULT if word.sure else UNSURE,
                    about=(word.means or word.spoken,),
                    words=(word,),
                )
    yield from _nonstandard_forms(words)
    yield from _habits(words)
    unclear = [
        word for word in words if word.result in ("right", "form", "again") and not word.sure
    ]
    if unclear:
        yield Finding(
            kind="unclear",
            severity=UNSURE,
            about=tuple(word.means for word in unclear),
            words=tuple(unclear),
        )


def _nonstandard_forms(words: Sequence[ReviewedWord]) -> Iterator[Finding]:
    """Yield a finding for each character or number that was not said in its standard words."""
    forms: defaultdict[tuple[str, str], list[ReviewedWord]] = defaultdict(list)
    for word in words:
        if word.result == "form" and word.sure and word.spoken not in ICAO_DIGITS:
            forms[word.means, word.expected].append(word)
    for (means, _), form_words in forms.items():
        yield Finding(kind="form", severity=ADVICE, about=(means,), words=tuple(form_words))


def _habits(words: Sequence[ReviewedWord]) -> Iterator[Finding]:
    """Yield the findings about repetitions, corrections and fillers."""
    repeated = [word for word in words if word.result == "again"]
    corrected = [word for word in words if word.result == "corrected"]
    fillers = [word for word in words if word.result == "filler" and word.sure]
    for kind, found, about in (
        ("again", repeated, [word.spoken for word in repeated]),
        ("corrected", corrected, [word.means or word.spoken for word in corrected]),
        ("filler", fillers, [word.spoken for word in fillers]),
    ):
        if found:
            yield Finding(kind=kind, severity=ADVICE, about=tuple(about), words=tuple(found))
