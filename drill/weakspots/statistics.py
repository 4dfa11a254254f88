"""What answers tell of single characters, words and number styles.

Every character that was sent is one piece of evidence: was it copied, at which SNR, as which word
was it said, by whom, in which place. Practice and measuring both count here: how often a character
comes does not matter to how well it is copied at an SNR.
"""

from collections.abc import Iterable, Iterator, Sequence
from typing import Any, NamedTuple

import numpy as np

from drill.psychometrics.curve import Curve
from drill.psychometrics.grid import LAPSE_GRID, SLOPE_GRID_PER_DB, Prior, Trial, posterior_weights
from drill.psychometrics.label_costs import LabelCost, Observation, estimate_label_costs
from drill.records.store import Raw
from phonetics.alphabets import ITU, ITU_FIGURES

ICAO_BY_EAR = ("tree", "fower", "fife", "niner")
"""Figures that are other words to the ear by ICAO Annex 10 Volume II, 5.2.1.4.3.1."""
SAMPLE = 5000
KINDS = ("character", "word", "style", "voice", "fading", "conditions", "position")


class Evidence(NamedTuple):
    """One character that was sent.

    copied: what stands for it in the answer, "" for nothing. right: True where it was copied, or
    its field counts as right by value. word: as it was said. style: which kind of word that is.
    position: field, and place in it from 1.
    """

    character: str
    copied: str
    right: bool
    snr_db: float
    word: str
    style: str
    voice: str
    fading: str
    conditions: str
    position: str


def evidence(rows: Iterable[Raw]) -> Iterator[Evidence]:
    """Yield the evidence of answers in noise, in their order.

    Answers that were given up or heard again, and fields of another length of which half or more is
    wrong, tell nothing of single characters: which one was missed is guesswork.
    """
    for row in rows:
        if row.snr_db is None or row.answer["gave_up"] or row.answer["replays"]:
            continue
        for score in row.scores:
            if alignment_is_reliable(score):
                yield from _of_field(row, score, row.snr_db)


def observations(answers: Iterable[Sequence[Evidence]], kind: str) -> list[Observation]:
    """Return how each label of a kind fared, one observation for each answer that has it.

    answers: the evidence of each answer. Characters of one answer are not independent, so that a
    label counts once in it, with the share that was right.
    """
    field = Evidence._fields.index(kind)
    found = []
    for heard in answers:
        shares: dict[str, list[bool]] = {}
        for one in heard:
            shares.setdefault(str(one[field]), []).append(one.right)
        found += [
            Observation(label=label, snr_db=heard[0].snr_db, right=sum(right) / len(right))
            for label, right in shares.items()
        ]
    return found


def common_curve(heard: Sequence[Evidence], rng: np.random.Generator) -> Curve:
    """Return the curve of the average character; its interval is of no use here.

    SAMPLE characters at most are drawn for it, from all answers.
    """
    if len(heard) > SAMPLE:
        heard = [heard[i] for i in rng.choice(len(heard), SAMPLE, replace=False)]
    trials = [Trial(snr_db=one.snr_db, right=one.right) for one in heard]
    # A character lies lower than a whole call, and is missed more evenly.
    prior = Prior(threshold_mean_db=-6.0)
    weight = posterior_weights(prior, trials).reshape(
        len(prior.threshold_grid_db), len(SLOPE_GRID_PER_DB), len(LAPSE_GRID)
    )
    x50_db = float(weight.sum(axis=(1, 2)) @ prior.threshold_grid_db)
    slope = float(np.exp(weight.sum(axis=(0, 2)) @ np.log(SLOPE_GRID_PER_DB)))
    return Curve(
        x50_db=x50_db, slope_per_db=slope, lapse=float(weight.sum(axis=(0, 1)) @ LAPSE_GRID)
    )


def costs(rows: Sequence[Raw], kinds: Sequence[str] = KINDS) -> dict[str, dict[str, LabelCost]]:
    """Return what each label of each kind costs in dB."""
    answers = [heard for row in rows if (heard := list(evidence([row])))]
    if not answers:
        return {kind: {} for kind in kinds}
    curve = common_curve([one for heard in answers for one in heard], np.random.default_rng(0))
    return {kind: estimate_label_costs(observations(answers, kind), curve) for kind in kinds}


def alignment_is_reliable(score: dict[str, Any]) -> bool:
    """Return True where the alignment of a field can be trusted."""
    if score["right"] or not score["copied"]:
        return bool(score["copied"])
    pairs = score["pairs"]
    sent = [pair for pair in pairs if pair["sent"]]
    wrong = sum(pair["sent"] != pair["copied"] for pair in pairs)
    alike = len(sent) == len(pairs) and all(pair["copied"] for pair in pairs)
    return alike or 2 * wrong < len(sent)


def _of_field(row: Raw, score: dict[str, Any], snr_db: float) -> Iterator[Evidence]:
    name, all_right = score["name"], score["right"]
    sent = [pair for pair in score["pairs"] if pair["sent"]]
    words = _words(row.item["message"]["words"], name, len(sent))
    voice = row.item["operator"]["name"]
    conditions = row.item["conditions"]
    for place, pair in enumerate(sent, 1):
        character = pair["sent"]
        copied = character if all_right else pair["copied"]
        word, style = words.get(place, ("not said", "not said"))
        yield Evidence(
            character,
            copied,
            character == copied,
            snr_db,
            word,
            style,
            voice,
            conditions["fading"]["name"],
            conditions.get("name") or "plain",
            f"{name} {place}",
        )


def style_of(say: str, means: str) -> str:
    """Return which kind of word characters were said with."""
    if len(means) > 1:
        return "several figures in a word" if means.isdigit() else "several letters in a word"
    if means.isdigit():
        if say == ITU_FIGURES[means].lower():
            return "figures, ITU word"
        return "figures, ICAO word" if say in ICAO_BY_EAR else "figures, plain"
    return "letters, ITU word" if say == ITU.get(means, "").lower() else "letters, other word"


def _words(words: Iterable[dict[str, Any]], field: str, length: int) -> dict[int, tuple[str, str]]:
    """Return for each place in a field, from 1, the word that said it first, and its style.

    A number said without its leading zeros has no word for them.
    """
    said = [
        (word["say"], style_of(word["say"], word["means"]))
        for word in words
        if word["field"] == field
        for _ in word["means"]
    ]
    dropped = max(0, length - len(said))
    return {dropped + place: word for place, word in enumerate(said[:length], 1)}
