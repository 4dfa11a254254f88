"""How far apart the operators are, and whether a machine can tell them apart by ear.

Each says the same composed calls, clean. An utterance becomes numbers: pitch (octaves), rate
(words a second) and mel cepstrum, mean and spread over its frames, of what is between 300 and
2700 Hz. Distances are in the pooled spread within one operator (Mahalanobis). A nearest-centroid
classifier then names the speaker of each utterance, which its own centroid leaves out.

Sources: mel cepstrum, Davis and Mermelstein 1980; speakers told apart by distances of cepstra
weighted by their covariance within a speaker, Atal 1974. Bands and counts: common practice, no
source. By hand: python -m tests.tools.distinctness [--into DEVELOPERS.md] [OPERATOR ...]
"""

import argparse
from collections.abc import Sequence
from dataclasses import dataclass
from random import Random

import numpy as np
from numpy.typing import NDArray

from drill.core.models import Clip, Operator
from tests.tools.tables import put
from tests.tools.voice_gate import Speak, composed_calls, median_pitch_hz, words_of

LOW_HZ, HIGH_HZ = 300.0, 2700.0
BANDS = 18
CEPSTRA = 12
FRAME_S = 0.032
LOUD_DB = -35.0  # frames below the loudest by more tell nothing of the speaker
OWN_SHARE = 0.1  # of the covariance is its diagonal alone, so that few utterances are enough
UTTERANCES = 6
PAIRS = 12

Doubles = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True, eq=False)
class Likeness:
    """What was found of n operators: distance_sd (n, n) between centroids, in within-operator SD.

    spoken: centroid pitch in Hz and words a second, (n, 2). told: share of utterances that were
    given to the right operator, (n,).
    """

    operators: tuple[Operator, ...]
    distance_sd: Doubles
    spoken: Doubles
    told: Doubles

    def pairs(self) -> list[tuple[float, Operator, Operator]]:
        """Return each operator with its nearest neighbour, the closest pairs first, each once."""
        nearest = np.where(np.eye(len(self.told), dtype=bool), np.inf, self.distance_sd)
        found = {tuple(sorted((i, int(row.argmin())))) for i, row in enumerate(nearest)}
        return sorted(
            ((float(nearest[a, b]), self.operators[a], self.operators[b]) for a, b in found),
            key=lambda pair: pair[0],
        )


def numbers(clip: Clip) -> Doubles:
    """Return what tells a speaker: octaves, words a second, cepstrum means and SDs; shape (26,)."""
    cepstra = cepstrum(clip)
    return np.concatenate(
        [
            [np.log2(max(median_pitch_hz(clip), 1.0)), len(clip.words) / clip.seconds],
            cepstra.mean(axis=0),
            cepstra.std(axis=0),
        ]
    )


def cepstrum(clip: Clip) -> Doubles:
    """Return the mel cepstrum of the loud frames between 300 and 2700 Hz, shape (frames, 12).

    The first coefficient, which is the level, is left out.
    """
    from scipy.fft import dct
    from scipy.signal import stft

    size = round(FRAME_S * clip.rate_hz)
    frequency, _, grid = stft(clip.samples, clip.rate_hz, nperseg=size, noverlap=size // 2)
    power = mel_bands(frequency) @ np.abs(grid) ** 2
    level_db = 10 * np.log10(np.maximum(power.sum(axis=0), 1e-20))
    loud = power[:, level_db > level_db.max() + LOUD_DB]
    return np.asarray(dct(np.log(np.maximum(loud.T, 1e-12)), norm="ortho"))[:, 1 : CEPSTRA + 1]


def mel_bands(frequency_hz: Doubles) -> Doubles:
    """Return triangular weights of bands even on the mel scale, shape (18, frequencies)."""

    def mel(hz: Doubles) -> Doubles:
        return np.asarray(2595 * np.log10(1 + hz / 700))

    low, high = mel(np.array([LOW_HZ, HIGH_HZ]))
    edges = np.linspace(float(low), float(high), BANDS + 2)
    width = edges[1] - edges[0]
    away = np.abs(mel(np.maximum(frequency_hz, 0)) - edges[1:-1, None]) / width
    return np.asarray(np.maximum(0, 1 - away))


def likeness(people: Sequence[Operator], heard: Doubles) -> Likeness:
    """Return how alike operators are, from the numbers of their utterances (n, utterances, k).

    Raises: ValueError where an operator has fewer than two utterances.
    """
    count, each, _ = heard.shape
    if each < 2:
        raise ValueError("two utterances an operator are the least")
    centroids = heard.mean(axis=1)
    spread = (heard - centroids[:, None]).reshape(count * each, -1)
    within = spread.T @ spread / (count * (each - 1))
    within += OWN_SHARE * (np.diag(np.diag(within)) - within)
    whiten = np.linalg.inv(np.linalg.cholesky(within)).T
    scaled, middles = heard @ whiten, centroids @ whiten
    right = np.zeros(count)
    for person in range(count):
        for utterance in scaled[person]:
            others = middles.copy()
            others[person] = (each * middles[person] - utterance) / (each - 1)
            right[person] += np.linalg.norm(others - utterance, axis=1).argmin() == person
    distance = np.linalg.norm(middles[:, None] - middles[None], axis=2)
    spoken = np.column_stack([2 ** centroids[:, 0], centroids[:, 1]])
    return Likeness(
        operators=tuple(people), distance_sd=distance, spoken=spoken, told=right / each
    )  # fmt: skip


def listen(
    people: Sequence[Operator], speak: Speak, *, utterances: int = UTTERANCES, seed: int = 8
) -> Likeness:
    """Return how alike the operators are when they say composed calls. Raises: NoVoice."""
    calls = composed_calls(utterances, Random(seed))
    heard = [
        [numbers(speak(words_of(call), each, number)) for number, call in enumerate(calls)]
        for each in people
    ]
    return likeness(people, np.array(heard))


def lines_of(found: Likeness) -> list[str]:
    """Return the summary and the closest pairs as lines of Markdown."""
    count, told = len(found.told), 100 * found.told.mean()
    pairs = found.pairs()
    median = float(np.median([distance for distance, _, _ in pairs]))
    worst = ", ".join(
        f"{each.name} ({100 * share:.0f} %)"
        for share, each in sorted(zip(found.told, found.operators, strict=True), key=_share)[:5]
        if share < 1
    )
    place = {each.name: number for number, each in enumerate(found.operators)}
    rows = [
        f"| {a.name}, {b.name} | {found.spoken[i, 0]:.0f}, {found.spoken[j, 0]:.0f} "
        f"| {found.spoken[i, 1]:.1f}, {found.spoken[j, 1]:.1f} | {distance:.1f} |"
        for distance, a, b in pairs[:PAIRS]
        for i, j in [(place[a.name], place[b.name])]
    ]
    return [
        f"{count} operators, {UTTERANCES} calls each: {told:.1f} % of the utterances are given to "
        f"the right one (chance: {100 / count:.1f} %); least often: {worst or 'none below 100 %'}. "
        f"Median distance to the nearest: {median:.1f} SD. The closest pairs:",
        "",
        "| operators | pitch Hz | words a second | distance SD |",
        "|---|---|---|---|",
        *rows,
    ]


def _share(pair: tuple[float, Operator]) -> float:
    return pair[0]


def main() -> None:
    """Print the summary and the closest pairs of the roster, or of the operators named."""
    from drill.voices import utter
    from drill.voices.people.roster import ROSTER, operator

    parser = argparse.ArgumentParser(prog="python -m tests.tools.distinctness")
    parser.add_argument("names", nargs="*", metavar="OPERATOR")
    parser.add_argument("--into", metavar="FILE", help="put the table into this file")
    options = parser.parse_args()
    people = [operator(name) for name in options.names] or ROSTER
    put(options.into, "distinct", lines_of(listen(people, utter)))


if __name__ == "__main__":
    main()
