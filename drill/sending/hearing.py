"""From a take to the words heard and their place in what was wanted."""

from collections.abc import Sequence
from dataclasses import replace

from drill.recogniser import RecognisedWord, Recogniser
from drill.sending.align import Step, align
from drill.sending.expected import EXPECTING, OPEN, Wanted, grammar, wanted
from drill.sending.models import Heard, Take

PLAIN = frozenset({"right", "procedure", "filler"})
ACCUSES = 0.6
"""Confidence that a word needs to be called wrong, in excess or out of its order: none of 16 words
said wrongly by the voices that settings were tuned by lay below it, and no right word of a person
taken for another at 8 kHz above it. With other voices a third of wrong words is only doubted."""
DONE = frozenset({"right", "form"})


def hear(take: Take, listener: Recogniser) -> tuple[tuple[RecognisedWord, ...], tuple[Heard, ...]]:
    """Return the words as the listener heard them, and as the prompt has them.

    The first pass expects what is wanted; where it finds anything else, or is unsure, a second one
    without that leaning has to bear it out, which also tells which other word was used.

    Raises: NoRecogniser; UserError where a word cannot be pronounced.
    """
    graph = wanted(take.prompt)
    words = listener.recognise(take.clip, grammar(graph, EXPECTING))
    steps = align([word.say for word in words], graph)
    plain = all(step.kind in PLAIN for step in steps)
    if plain and all(word.confidence >= listener.unsure_below for word in words):
        return words, _placed(words, steps, graph, listener.unsure_below, None)
    again = listener.recognise(take.clip, grammar(graph, OPEN))
    check = align([word.say for word in again], graph)
    second = _placed(again, check, graph, listener.unsure_below, None)
    return words, _placed(words, steps, graph, listener.unsure_below, second)


def _placed(
    words: Sequence[RecognisedWord],
    steps: Sequence[Step],
    graph: Wanted,
    unsure: float,
    second: Sequence[Heard] | None,
) -> tuple[Heard, ...]:
    """Return a Heard for each step; second: what another pass made of the same take."""
    said: dict[int, int] = {}
    for place, step in enumerate(steps):
        if step.edge is not None:
            said[step.edge.unit] = place
    restarts = [place for place, step in enumerate(steps) if step.kind == "back"]
    found = []
    for place, step in enumerate(steps):
        if step.kind == "back":
            continue
        one = _one(words, step, graph)
        unit = None if step.edge is None else step.edge.unit
        later = unit is not None and any(place < at < said[unit] for at in restarts)
        earlier = unit is not None and any(
            other.edge is not None and other.edge.unit == unit
            and any(before < at < place for at in restarts)
            for before, other in enumerate(steps[:place])
        )  # fmt: skip
        if later and one.kind not in DONE:
            one = replace(one, kind="corrected")
        elif earlier and one.kind in DONE and not _was_wrong(steps[:place], unit):
            one = replace(one, kind="again")
        found.append(replace(one, sure=_sure(one, unsure)))
    if second is not None:
        found = [_borne_out(one, second) for one in found]
    return tuple(_doubtful_doubles(found))


def _was_wrong(steps: Sequence[Step], unit: int | None) -> bool:
    return any(
        step.edge is not None and step.edge.unit == unit and step.kind not in DONE for step in steps
    )


def _one(words: Sequence[RecognisedWord], step: Step, graph: Wanted) -> Heard:
    word = None if step.heard is None else words[step.heard]
    unit = None if step.edge is None else graph.units[step.edge.unit]
    kind, wanted_say = step.kind, "" if step.edge is None else step.edge.say
    if kind == "right" and step.edge is not None and step.edge.form and unit and unit.means:
        kind, wanted_say = "form", " ".join(unit.forms[0])
    return Heard(
        say="" if word is None else word.say,
        wanted=wanted_say,
        means="" if unit is None else unit.means,
        field="" if unit is None else unit.field,
        kind=kind,
        start_s=0.0 if word is None else word.start_s,
        end_s=0.0 if word is None else word.end_s,
        confidence=0.0 if word is None else word.confidence,
    )


def _sure(one: Heard, unsure: float) -> bool:
    """Return True where the sound bears the word out; what was not said has no sound to do so."""
    if one.kind == "missing":
        return True
    return one.confidence >= (ACCUSES if one.kind in ("wrong", "extra", "order") else unsure)


def _borne_out(one: Heard, second: Sequence[Heard]) -> Heard:
    """Return a deviation with the second pass's word for it, unsure where that found none."""
    if one.kind in (*PLAIN, "form", "again"):
        return one
    alike = [
        other
        for other in second
        if (other.kind, other.wanted, other.means) == (one.kind, one.wanted, one.means)
    ]
    if not alike:
        return replace(one, sure=False)
    if one.kind == "missing":
        return one
    best = max(alike, key=lambda other: -abs(other.start_s - one.start_s))
    return replace(one, say=best.say, confidence=best.confidence, sure=one.sure and best.sure)


def _doubtful_doubles(found: Sequence[Heard]) -> list[Heard]:
    """Return the words, a missing one unsure where its like stands beside it.

    "eight eight" without a break sounds like one long eight.
    """
    result = list(found)
    for place, one in enumerate(found):
        beside = [found[at].say for at in (place - 1, place + 1) if 0 <= at < len(found)]
        if one.kind == "missing" and one.wanted in beside:
            result[place] = replace(one, sure=False)
    return result
