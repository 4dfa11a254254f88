"""Costs in dB of characters, words, operators and conditions, from recorded answers.

Every character sent is one piece of evidence: whether it was typed correctly, its SNR, the word
with which it was spoken, the operator, and its position. Answers from practice and from
measurements both count, because how often a character occurs does not affect how well it is copied
at a given SNR.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from operator import attrgetter
from typing import Any, NamedTuple

import numpy as np

from drill.psychometrics.curve import Curve
from drill.psychometrics.grid import (
    LAPSE_GRID,
    SLOPE_GRID_PER_DB,
    Prior,
    Trial,
    posterior_weights,
)
from drill.psychometrics.label_costs import LabelCost, Observation, estimate_label_costs
from drill.records.sessions import RawAttempt
from phonetics.alphabets import ITU_CODE_WORDS
from phonetics.numerals import ITU_FIGURES

ICAO_FIGURES_WITH_OTHER_WORDS = ("tree", "fower", "fife", "niner")
"""ICAO figure words that sound unlike the English numeral: Annex 10 Volume II, 5.2.1.4.3.1."""
MAX_CURVE_TRIALS = 5000
_CHARACTER_THRESHOLD_DB = -6.0
"""Prior mean of the threshold: single characters have a lower threshold than whole calls."""


class CharacterEvidence(NamedTuple):
    """One character that was sent.

    typed: the character typed for it, "" for none. right: True if they agree, or if the whole field
    is right by value. snr_db: SNR in dB. word: the word it was spoken with. word_style: see
    `word_style`. operator, fading, conditions: names of the operator and presets. position: field
    and position in it from 1, as in "call 3".
    """

    character: str
    typed: str
    right: bool
    snr_db: float
    word: str
    word_style: str
    operator: str
    fading: str
    conditions: str
    position: str


_LABELS: Mapping[str, Callable[[CharacterEvidence], str]] = {
    "character": attrgetter("character"),
    "word": attrgetter("word"),
    "style": attrgetter("word_style"),
    "voice": attrgetter("operator"),
    "fading": attrgetter("fading"),
    "conditions": attrgetter("conditions"),
    "position": attrgetter("position"),
}
LABEL_KINDS = tuple(_LABELS)
"""Kinds of label whose costs are estimated; these names are part of the exported report."""


def character_evidence(answers: Iterable[RawAttempt]) -> Iterator[CharacterEvidence]:
    """Yield the characters sent in answers to noisy items, in order.

    Answers that were given up or replayed are left out, as are fields without a reliable alignment.
    """
    for answer in answers:
        snr_db = usable_snr_db(answer)
        if snr_db is None:
            continue
        for score in answer.scores:
            if alignment_is_reliable(score):
                yield from _field_evidence(answer, score, snr_db)


def usable_snr_db(answer: RawAttempt) -> float | None:
    """Return an answer's SNR in dB if it was heard in noise, once, and not given up; else None."""
    if answer.answer["gave_up"] or answer.answer["replays"]:
        return None
    return answer.snr_db


def alignment_is_reliable(score: Mapping[str, Any]) -> bool:
    """Return True if a field's errors can be attributed to single characters.

    score: one field's score as the record stores it. The alignment is reliable if the field is
    right, if exactly one character was typed for each one sent, or if fewer than half of the
    characters are wrong. An empty field is never reliable.
    """
    if not score["copied"]:
        return False
    if score["right"]:
        return True
    pairs = score["pairs"]
    if all(pair["sent"] and pair["copied"] for pair in pairs):
        return True
    sent = sum(bool(pair["sent"]) for pair in pairs)
    wrong = sum(bool(pair["sent"] != pair["copied"]) for pair in pairs)
    return 2 * wrong < sent


def label_observations(
    answers: Iterable[Sequence[CharacterEvidence]], kind: str
) -> list[Observation]:
    """Return one observation for each label of a kind in each answer.

    answers: evidence of each answer. Characters of one answer are not independent, so a label
    counts once, with the proportion of it that was right.
    """
    label_of = _LABELS[kind]
    observations = []
    for evidence in answers:
        right_by_label: dict[str, list[bool]] = {}
        for character in evidence:
            right_by_label.setdefault(label_of(character), []).append(character.right)
        observations += [
            Observation(label=label, snr_db=evidence[0].snr_db, right=sum(right) / len(right))
            for label, right in right_by_label.items()
        ]
    return observations


def fit_average_curve(evidence: Sequence[CharacterEvidence], rng: np.random.Generator) -> Curve:
    """Return the psychometric function of the average character.

    At most MAX_CURVE_TRIALS characters, drawn at random, are used. The characters are treated as
    independent: that biases only the interval, which is not used here.
    """
    if len(evidence) > MAX_CURVE_TRIALS:
        sample = rng.choice(len(evidence), MAX_CURVE_TRIALS, replace=False)
        evidence = [evidence[index] for index in sample]
    trials = [Trial(snr_db=character.snr_db, right=character.right) for character in evidence]
    prior = Prior(threshold_mean_db=_CHARACTER_THRESHOLD_DB)
    shape = (len(prior.threshold_grid_db), len(SLOPE_GRID_PER_DB), len(LAPSE_GRID))
    weights = posterior_weights(prior, trials).reshape(shape)
    log_slope = weights.sum(axis=(0, 2)) @ np.log(SLOPE_GRID_PER_DB)
    return Curve(
        x50_db=float(weights.sum(axis=(1, 2)) @ prior.threshold_grid_db),
        slope_per_db=float(np.exp(log_slope)),
        lapse=float(weights.sum(axis=(0, 1)) @ LAPSE_GRID),
    )


def label_costs_by_kind(
    answers: Sequence[RawAttempt], kinds: Sequence[str] = LABEL_KINDS
) -> dict[str, dict[str, LabelCost]]:
    """Return the cost in dB of each label of each kind, empty without usable answers."""
    evidence = [found for answer in answers if (found := list(character_evidence([answer])))]
    if not evidence:
        return {kind: {} for kind in kinds}
    characters = [character for group in evidence for character in group]
    curve = fit_average_curve(characters, np.random.default_rng(0))
    return {kind: estimate_label_costs(label_observations(evidence, kind), curve) for kind in kinds}


def _field_evidence(
    answer: RawAttempt, score: Mapping[str, Any], snr_db: float
) -> Iterator[CharacterEvidence]:
    """Yield the characters sent in one field."""
    name, field_right = score["name"], score["right"]
    pairs = [pair for pair in score["pairs"] if pair["sent"]]
    words = _words_by_position(answer.item["message"]["words"], name, len(pairs))
    conditions = answer.item["conditions"]
    for position, pair in enumerate(pairs, 1):
        character = pair["sent"]
        typed = character if field_right else pair["copied"]
        word, style = words.get(position, ("not said", "not said"))
        yield CharacterEvidence(
            character=character,
            typed=typed,
            right=character == typed,
            snr_db=snr_db,
            word=word,
            word_style=style,
            operator=answer.item["operator"]["name"],
            fading=conditions["fading"]["name"],
            conditions=conditions.get("name") or "plain",
            position=f"{name} {position}",
        )


def word_style(say: str, means: str) -> str:
    """Return the kind of word that was spoken for some characters.

    say: the word as spoken, in lower case. means: the characters that it represents.
    """
    if len(means) > 1:
        return "several figures in a word" if means.isdigit() else "several letters in a word"
    if means.isdigit():
        if say == ITU_FIGURES[means].lower():
            return "figures, ITU word"
        return "figures, ICAO word" if say in ICAO_FIGURES_WITH_OTHER_WORDS else "figures, plain"
    return (
        "letters, ITU word"
        if say == ITU_CODE_WORDS.get(means, "").lower()
        else "letters, other word"
    )


def _words_by_position(
    words: Iterable[Mapping[str, Any]], field: str, length: int
) -> dict[int, tuple[str, str]]:
    """Return word and word style for each position of a field, from 1.

    If a field was spoken more than once, the first time counts. Leading zeros that were not spoken
    have no entry.
    """
    spoken = [
        (word["say"], word_style(word["say"], word["means"]))
        for word in words
        if word["field"] == field
        for _ in word["means"]
    ]
    zeros_dropped = max(0, length - len(spoken))
    return {zeros_dropped + position: word for position, word in enumerate(spoken[:length], 1)}
