"""Predicted intelligibility of a voice after the channel: the index ESTOI, and the bands and words
in which most is lost.

The index compares the envelopes of the received and the clean voice in time and frequency, 0 to 1.
It predicts intelligibility for this channel; it is not a human listener's score, and it ignores
which words were said: mumbling a word does not lower it.

Source: Jensen and Taal, An algorithm for predicting the intelligibility of speech masked by
modulated noise maskers, IEEE/ACM Trans. Audio 24 (2016), package pystoi. Bands and words: the
correlations of Taal et al., An algorithm for intelligibility prediction of time-frequency weighted
noisy speech, IEEE Trans. Audio 19 (2011), with the filters of pystoi.
"""

import warnings
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from drill.core.arrays import FloatArray, true_runs
from drill.core.models import Clip, WordTime
from drill.radio.channel import LEAD_IN_S
from drill.radio.levels import P56_MARGIN_DB, power_from_db, speech_level

STOI_RATE_HZ = 10_000
"""This and the next five values are those of STOI and ESTOI."""
STOI_FRAME, STOI_BINS = 256, 512
STOI_BANDS, STOI_LOWEST_HZ = 15, 150.0
STOI_SEGMENT_FRAMES = 30
MIN_ACTIVE_POWER = 1e-4
"""The voice is active in frames above this power relative to the loudest frame: -40 dB."""
MIN_ACTIVE_SHARE = 0.5
"""Segments with a smaller share of active frames are left out."""
COMPARED_BANDS_HZ = (300, 2700)
LOST_CORRELATION = 0.6
"""A word with a lower mean correlation counts as lost; common practice, no source."""
WORD_MARGIN_S = 0.1
TRIM_FRAME_S, MIN_SPEECH_S, TRIM_MARGIN_S = 0.02, 0.06, 0.15
"""A click is shorter than speech; weak sounds at either end of a word lie within the margin."""


@dataclass(frozen=True, kw_only=True, slots=True)
class EnvelopeCorrelation:
    """Correlation, -1 to 1, of the received with the clean envelopes; 1 if nothing is lost.

    bands: pairs of centre frequency in Hz and mean correlation. times: pairs of time in the take in
    s and mean correlation.
    """

    bands: tuple[tuple[float, float], ...]
    times: tuple[tuple[float, float], ...]

    def shifted(self, seconds: float) -> "EnvelopeCorrelation":
        """Return the correlation with all times later by some seconds."""
        times = tuple((round(time_s + seconds, 2), value) for time_s, value in self.times)
        return replace(self, times=times)


def trim_silence(clip: Clip) -> tuple[Clip, float]:
    """Return a clip with TRIM_MARGIN_S around its speech, and where that starts in the clip in s.

    Speech is where the mean power of TRIM_FRAME_S is at most P56_MARGIN_DB below the active speech
    level for MIN_SPEECH_S. If the clip has less around it than the margin, silence is added and the
    start can be negative. The result has no word times. A clip without such speech is returned
    whole. Raises: ValueError if the clip is silent.
    """
    floor = power_from_db(speech_level(clip.samples, clip.rate_hz).active_db - P56_MARGIN_DB)
    frame = round(TRIM_FRAME_S * clip.rate_hz)
    squares = np.pad(clip.samples.astype(np.float64), frame) ** 2
    energy = np.concatenate([[0.0], np.cumsum(squares)])
    loud = energy[frame:] - energy[:-frame] >= frame * floor
    shortest = round(MIN_SPEECH_S * clip.rate_hz)
    runs = [(first - frame, end) for first, end in true_runs(loud) if end - first >= shortest]
    if not runs:
        return replace(clip, words=()), 0.0
    margin = round(TRIM_MARGIN_S * clip.rate_hz)
    first, end = runs[0][0] - margin, runs[-1][1] + margin
    lacking = max(0, -first), max(0, end - len(clip.samples))
    samples = np.pad(clip.samples[max(0, first) : end], lacking)
    return Clip(samples=samples, rate_hz=clip.rate_hz), first / clip.rate_hz


def estoi_index(clean: Clip, received: Clip) -> float:
    """Return ESTOI of a received voice, 0 to 1. Both clips have the same length and rate.

    The result is 1e-5 if there is too little speech for one segment.
    """
    from pystoi import stoi  # slow to import

    with warnings.catch_warnings():
        # pystoi warns if there is too little speech; its result of 1e-5 says so too.
        warnings.simplefilter("ignore", RuntimeWarning)
        return float(stoi(clean.samples, received.samples, clean.rate_hz, extended=True))


def correlate_envelopes(clean: Clip, received: Clip) -> EnvelopeCorrelation:
    """Return the correlation of the envelopes, by third-octave band and over time.

    Frames of 25.6 ms every 12.8 ms; correlations over segments of 30 frames in which the clean
    voice is active, as in STOI but without its clipping.
    """
    from pystoi.utils import thirdoct  # slow to import

    band_matrix, centres_hz = thirdoct(STOI_RATE_HZ, STOI_BINS, STOI_BANDS, STOI_LOWEST_HZ)
    clean_bands, received_bands = (_band_envelopes(clip, band_matrix) for clip in (clean, received))
    power = np.sum(clean_bands**2, axis=0)
    active = power > np.max(power) * MIN_ACTIVE_POWER
    hop_s = STOI_FRAME / 2 / STOI_RATE_HZ
    correlations, times_s = [], []
    last_start = clean_bands.shape[1] - STOI_SEGMENT_FRAMES
    for start in range(0, last_start + 1, STOI_SEGMENT_FRAMES // 3):
        segment = slice(start, start + STOI_SEGMENT_FRAMES)
        if np.mean(active[segment]) >= MIN_ACTIVE_SHARE:
            correlations.append(_correlation(clean_bands[:, segment], received_bands[:, segment]))
            times_s.append((start + STOI_SEGMENT_FRAMES / 2) * hop_s - LEAD_IN_S)
    low_hz, high_hz = COMPARED_BANDS_HZ
    compared = [index for index, hz in enumerate(centres_hz) if low_hz <= hz <= high_hz]
    table = np.array(correlations)[:, compared] if correlations else np.zeros((0, len(compared)))
    means = table.mean(axis=0) if len(table) else np.zeros(len(compared))
    return EnvelopeCorrelation(
        bands=tuple(
            (round(float(centres_hz[index])), round(float(mean), 3))
            for index, mean in zip(compared, means, strict=True)
        ),
        times=tuple(
            (round(float(time_s), 2), round(float(row.mean()), 3))
            for time_s, row in zip(times_s, table, strict=True)
        ),
    )


def _band_envelopes(clip: Clip, band_matrix: FloatArray) -> FloatArray:
    """Return the envelope of each band, shape (bands, frames)."""
    from pystoi.utils import resample_oct, stft  # slow to import

    samples = resample_oct(clip.samples.astype(np.float64), STOI_RATE_HZ, clip.rate_hz)
    power = np.abs(np.asarray(stft(samples, STOI_FRAME, STOI_BINS, overlap=2)).T) ** 2
    return np.asarray(np.sqrt(band_matrix @ power))


def _correlation(first: FloatArray, second: FloatArray) -> FloatArray:
    """Return the correlation of each band, shape (bands,), of two segments (bands, frames)."""
    first = first - first.mean(axis=1, keepdims=True)
    second = second - second.mean(axis=1, keepdims=True)
    norm = np.linalg.norm(first, axis=1) * np.linalg.norm(second, axis=1)
    return np.asarray(np.sum(first * second, axis=1) / np.maximum(norm, 1e-12))


def lost_words(
    correlation: EnvelopeCorrelation, words: Sequence[WordTime], at_most: int = 3
) -> tuple[str, ...]:
    """Return the words with the greatest loss, in speaking order; none above LOST_CORRELATION.

    words: with their times in the take.
    """
    means = []
    for index, word in enumerate(words):
        first_s, last_s = word.start_s - WORD_MARGIN_S, word.end_s + WORD_MARGIN_S
        values = [value for time_s, value in correlation.times if first_s <= time_s <= last_s]
        if values and np.mean(values) < LOST_CORRELATION:
            means.append((float(np.mean(values)), index))
    worst = sorted(index for _, index in sorted(means)[:at_most])
    return tuple(words[index].say for index in worst)
