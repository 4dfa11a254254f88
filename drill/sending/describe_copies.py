"""Describes what is copied at the far end, the same in the terminal and on the page."""

from collections.abc import Iterator

from drill.core.text_blocks import Passage, Table
from drill.sending.far_copies import FarCopies, UnitCopies
from drill.sending.models import Prompt

COPIES_NOTE = "These are the recogniser's figures, not those of a person."
_SUBJECTS = {
    "call": "your call",
    "correction": "your call",
    "exchange": "your exchange",
    "answer": "your answer",
    "suffix": "your suffix",
}


def copies_passage(copies: FarCopies, prompt: Prompt) -> Passage:
    """Return how often the take gets through at each power, or the reason why that is not known."""
    title = "Copied at the far end"
    if not copies.powers:
        return Passage(title=title, sentences=(_not_judged(copies),))
    return Passage(
        title=title,
        figures=tuple(_power_sentences(copies, prompt)),
        table=_word_table(copies),
        sentences=(
            "For each word: the number of tries in which it was copied, the recogniser's mean "
            f"confidence in them, and in brackets the number for {copies.operator}. "
            f"Each of the {copies.tries} tries has other noise and fading. {COPIES_NOTE}",
        ),
    )


def _not_judged(copies: FarCopies) -> str:
    return (
        f"Without noise the recogniser copies only {copies.check.right} of the "
        f"{copies.check.words} words of this take, so it cannot judge it in noise. Say it again. "
        "If that does not help, let the recogniser learn your voice with faintcall enrol."
    )


def _power_sentences(copies: FarCopies, prompt: Prompt) -> Iterator[str]:
    subject = _SUBJECTS.get(prompt.kind) or f"your {prompt.fields[-1].name}"
    for power in copies.powers:
        yield (
            f"Of {copies.tries} tries at {power.watts:g} W {subject} gets through in "
            f"{power.take.whole}, {copies.operator} in {power.reference.whole}."
        )


def _word_table(copies: FarCopies) -> Table:
    """Return a table with a row for each word and a column for each power."""
    columns = [
        [
            _cell(unit, reference)
            for unit, reference in zip(power.take.units, power.reference.units, strict=True)
        ]
        for power in copies.powers
    ]
    words = [unit.say for unit in copies.powers[0].take.units]
    return Table(
        caption="Words copied at the far end",
        head=("word", *(f"{power.watts:g} W" for power in copies.powers)),
        rows=tuple(zip(words, *columns, strict=True)),
    )


def _cell(unit: UnitCopies, reference: UnitCopies) -> str:
    confidence = f", {unit.confidence:.0%}" if unit.copied else ""
    return f"{unit.copied}{confidence} ({reference.copied})"
