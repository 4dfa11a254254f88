"""Measure how different the operators sound, and whether a machine can tell them apart.

All operators say the same composed calls without noise. Each utterance becomes a vector of
features: pitch (octaves), speaking rate (words per second), and mean and standard deviation of the
mel cepstrum from 300 to 2700 Hz. Distances are Mahalanobis distances with the pooled covariance
within an operator. A nearest-centroid classifier then assigns each utterance to an operator; the
utterance itself is left out of its operator's centroid.

Sources: mel cepstrum, Davis and Mermelstein 1980; identifying speakers by distances of cepstra that
are weighted by the covariance within a speaker, Atal 1974. Bands and counts: common practice, no
source.

Run by hand: python -m tests.tools.distinctness [--into FILE] [OPERATOR ...]
tests/measured/distinctness.md contains the table of the whole roster.
"""

import argparse
from collections.abc import Sequence
from dataclasses import dataclass
from random import Random

import numpy as np
from numpy.typing import NDArray
from scipy.fft import dct
from scipy.signal import stft

from drill.core.models import Clip, Operator
from drill.voices import speak_uncached
from drill.voices.operators import find_operator
from drill.voices.people.roster import ROSTER
from tests.tools.pitch import median_pitch_hz
from tests.tools.tables import write_table
from tests.tools.voice_gate.calls import call_words, compose_gate_calls
from tests.tools.voice_gate.judge import SpeakFunction

LOW_HZ, HIGH_HZ = 300.0, 2700.0
BANDS = 18
CEPSTRA = 12
UTTERANCES = 6
LISTED_PAIRS = 12
_FRAME_S = 0.032
_LOUD_DB = -35.0  # softer frames, relative to the loudest one, say nothing about the speaker
_DIAGONAL_SHARE = 0.1  # shrinks the covariance to its diagonal, so that few utterances are enough

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True, eq=False)
class Distinctness:
    """How different n operators sound.

    distance_sd: distances between centroids, (n, n), in standard deviations within an operator.
    pitch_hz, rate: mean pitch in Hz and speaking rate in words per second, (n,). recognised: share
    of each operator's utterances that are assigned to that operator, 0 to 1, (n,).
    """

    operators: tuple[Operator, ...]
    distance_sd: FloatArray
    pitch_hz: FloatArray
    rate: FloatArray
    recognised: FloatArray

    def closest_pairs(self) -> list[tuple[float, int, int]]:
        """Return distance and indices of each operator and its nearest neighbour.

        The closest pairs come first, and each pair comes once.
        """
        distances = np.where(np.eye(len(self.operators), dtype=bool), np.inf, self.distance_sd)
        pairs = {tuple(sorted((i, int(row.argmin())))) for i, row in enumerate(distances)}
        return sorted((float(distances[a, b]), a, b) for a, b in pairs)


def speaker_features(clip: Clip) -> FloatArray:
    """Return the features of a speaker in an utterance, shape (26,).

    Pitch in octaves, words per second, then means and standard deviations of the cepstrum.
    """
    cepstra = mel_cepstrum(clip)
    pitch_and_rate = [np.log2(max(median_pitch_hz(clip), 1.0)), len(clip.words) / clip.seconds]
    return np.concatenate([pitch_and_rate, cepstra.mean(axis=0), cepstra.std(axis=0)])


def mel_cepstrum(clip: Clip) -> FloatArray:
    """Return the mel cepstrum of the loud frames from 300 to 2700 Hz, shape (frames, 12).

    The first coefficient is left out because it is the level.
    """
    size = round(_FRAME_S * clip.rate_hz)
    frequency_hz, _, spectra = stft(clip.samples, clip.rate_hz, nperseg=size, noverlap=size // 2)
    power = mel_bands(frequency_hz) @ np.abs(spectra) ** 2
    level_db = 10 * np.log10(np.maximum(power.sum(axis=0), 1e-20))
    loud = power[:, level_db > level_db.max() + _LOUD_DB]
    return np.asarray(dct(np.log(np.maximum(loud.T, 1e-12)), norm="ortho"))[:, 1 : CEPSTRA + 1]


def mel_bands(frequency_hz: FloatArray) -> FloatArray:
    """Return triangular weights of bands spaced evenly in mel, shape (18, frequencies)."""

    def mel(hz: FloatArray) -> FloatArray:
        return np.asarray(2595 * np.log10(1 + hz / 700))

    low, high = mel(np.array([LOW_HZ, HIGH_HZ]))
    edges = np.linspace(float(low), float(high), BANDS + 2)
    width = edges[1] - edges[0]
    distance = np.abs(mel(np.maximum(frequency_hz, 0)) - edges[1:-1, None]) / width
    return np.asarray(np.maximum(0, 1 - distance))


def measure_distinctness(operators: Sequence[Operator], features: FloatArray) -> Distinctness:
    """Return how different the operators are, judged by the features of their utterances.

    features: shape (operators, utterances, features).
    Raises: ValueError if there are fewer than two utterances for each operator.
    """
    count, utterances, _ = features.shape
    if utterances < 2:
        raise ValueError("two utterances for each operator are needed")
    centroids = features.mean(axis=1)
    deviations = (features - centroids[:, None]).reshape(count * utterances, -1)
    covariance = deviations.T @ deviations / (count * (utterances - 1))
    covariance += _DIAGONAL_SHARE * (np.diag(np.diag(covariance)) - covariance)
    whiten = np.linalg.inv(np.linalg.cholesky(covariance)).T
    scaled, scaled_centroids = features @ whiten, centroids @ whiten
    correct = np.zeros(count)
    for speaker in range(count):
        for utterance in scaled[speaker]:
            references = scaled_centroids.copy()
            own_sum = utterances * scaled_centroids[speaker]
            references[speaker] = (own_sum - utterance) / (utterances - 1)
            nearest = np.linalg.norm(references - utterance, axis=1).argmin()
            correct[speaker] += nearest == speaker
    differences = scaled_centroids[:, None] - scaled_centroids[None]
    return Distinctness(
        operators=tuple(operators),
        distance_sd=np.linalg.norm(differences, axis=2),
        pitch_hz=2 ** centroids[:, 0],
        rate=centroids[:, 1],
        recognised=correct / utterances,
    )


def compare_operators(
    operators: Sequence[Operator],
    speak: SpeakFunction,
    *,
    utterances: int = UTTERANCES,
    seed: int = 8,
) -> Distinctness:
    """Return how different the operators sound when they say composed calls. Raises: NoVoice."""
    calls = compose_gate_calls(utterances, Random(seed))
    features = [
        [speaker_features(speak(call_words(call), operator, n)) for n, call in enumerate(calls)]
        for operator in operators
    ]
    return measure_distinctness(operators, np.array(features))


def report_lines(result: Distinctness) -> list[str]:
    """Return the summary and a table of the closest pairs as lines of Markdown."""
    count = len(result.operators)
    pairs = result.closest_pairs()
    median_sd = float(np.median([distance for distance, _, _ in pairs]))
    worst = sorted(range(count), key=lambda index: result.recognised[index])[:5]
    least_recognised = ", ".join(
        f"{result.operators[index].name} ({100 * result.recognised[index]:.0f} %)"
        for index in worst
        if result.recognised[index] < 1
    )
    rows = [
        f"| {result.operators[a].name}, {result.operators[b].name} "
        f"| {result.pitch_hz[a]:.0f}, {result.pitch_hz[b]:.0f} "
        f"| {result.rate[a]:.1f}, {result.rate[b]:.1f} | {distance:.1f} |"
        for distance, a, b in pairs[:LISTED_PAIRS]
    ]
    summary = (
        f"{count} operators, {UTTERANCES} calls each: "
        f"{100 * result.recognised.mean():.1f} % of the utterances are assigned to the right "
        f"operator (chance: {100 / count:.1f} %). Least often recognised: "
        f"{least_recognised or 'none below 100 %'}. Median distance to the nearest operator: "
        f"{median_sd:.1f} SD. The closest pairs:"
    )
    return [
        summary,
        "",
        "| operators | pitch Hz | words per second | distance SD |",
        "|---|---|---|---|",
        *rows,
    ]


def main() -> None:
    """Print summary and closest pairs of the roster, or of the named operators."""
    parser = argparse.ArgumentParser(prog="python -m tests.tools.distinctness")
    parser.add_argument("names", nargs="*", metavar="OPERATOR")
    parser.add_argument("--into", metavar="FILE", help="replace the table in this file")
    options = parser.parse_args()
    operators = [find_operator(name) for name in options.names] or ROSTER
    lines = report_lines(compare_operators(operators, speak_uncached))
    write_table(options.into, "distinct", lines)


if __name__ == "__main__":
    main()
