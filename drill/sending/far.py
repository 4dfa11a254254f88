"""The far end: what becomes of a take on the air, at several powers, beside a voice of ours.

The index is ESTOI: how much of the voice's envelope in time and frequency is left after the
channel, 0 to 1. It is a prediction for this channel and this voice against a reference voice that
says the same words. It is no score of a human listener, and it knows nothing of what was said: a
word that is mumbled cleanly keeps its index.

Source: Jensen and Taal, An algorithm for predicting the intelligibility of speech masked by
modulated noise maskers, IEEE/ACM Trans. Audio 24 (2016), package pystoi; bands and times by the
correlations of Taal et al., STOI, IEEE Trans. Audio 19 (2011), with pystoi's own filters.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from drill import voices
from drill.core.conditions import Conditions
from drill.core.models import Clip, Operator
from drill.linkbudget.budget import snr_from_watts
from drill.radio.channel import LEAD_IN_S, simulate
from drill.radio.presets import parse_receiver
from drill.sending.models import Prompt

WATTS = (100.0, 20.0, 5.0)
REFERENCES = ("meadow", "pebble", "willow", "tin")
"""Voices that the take is held against, best understood first; the first that works is used."""
LABEL = "prediction for this channel and voice against the reference voice, no human score"
INDEX_RATE_HZ = 10_000
"""Rate, bands and frames of STOI and ESTOI."""
FRAME, BINS, BANDS, LOWEST_HZ, SPAN = 256, 512, 15, 150.0, 30
DRAWS = 4
WEAK = 0.6
"""A correlation below this is called lost; common practice, no source."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Loss:
    """Where in a take the channel took most: per band and over time, correlations from -1 to 1.

    bands: (centre in Hz, correlation); times: (s in the take, correlation).
    """

    bands: tuple[tuple[float, float], ...]
    times: tuple[tuple[float, float], ...]


@dataclass(frozen=True, kw_only=True, eq=False)
class FarEnd:
    """A take at one power.

    snr_db: asked for, in 3 kHz. index, reference: ESTOI of the take and of the voice.
    """

    watts: float
    snr_db: float
    clip: Clip
    reference_clip: Clip
    index: float
    reference: float
    loss: Loss


@dataclass(frozen=True, kw_only=True, eq=False)
class FarEnds:
    """A take at several powers, the reference voice's name, and what the label of the index is.

    behind_db: by how many dB the take is worse than the reference, 0 or less where it is better:
    the SNR that would cost the reference voice as much of its index. None where that lies outside
    the powers looked at.
    """

    ends: tuple[FarEnd, ...]
    operator: str
    behind_db: float | None
    label: str = LABEL


def reference_operator() -> Operator:
    """Return the voice that takes are held against. Raises: NoVoice where none can speak here."""
    from drill.voices.operators import find_operator

    return voices.usable_operators([find_operator(name) for name in REFERENCES])[0]


def far_ends(
    clip: Clip,
    prompt: Prompt,
    conditions: Conditions,
    *,
    path_snr_db: float,
    seed: int,
    watts: Sequence[float] = WATTS,
) -> FarEnds:
    """Return a take as the far station has it from each of these powers.

    path_snr_db: SNR in 3 kHz of 100 W. Fading and noise of the take and the reference are the same.
    Raises: NoVoice; UserError for powers or a path out of range; ValueError where clip is silent.
    """
    operator = reference_operator()
    voice = voices.speak(prompt.words, operator, prompt.seed)
    ends = []
    for power in watts:
        snr_db = round(snr_from_watts(path_snr_db, power), 2)
        here = replace(conditions, snr_db=snr_db, neighbours=())
        take, other = (_through(sound, here, seed) for sound in (clip, voice))
        ends.append(
            FarEnd(
                watts=power,
                snr_db=snr_db,
                clip=take.clip,
                reference_clip=other.clip,
                index=take.index,
                reference=other.index,
                loss=take.loss,
            )
        )
    return FarEnds(ends=tuple(ends), operator=operator.name, behind_db=_behind(ends))


@dataclass(frozen=True, kw_only=True, eq=False)
class _Passed:
    """A voice through the path: its sound and loss the first time, its index over all draws."""

    clip: Clip
    index: float
    loss: Loss


def _through(voice: Clip, conditions: Conditions, seed: int) -> _Passed:
    """Return a voice through the path, held against the same through its filters alone.

    The index is the mean over DRAWS of noise and fading: within a few seconds it is chance which
    word a fade or a crash of static meets.
    """
    bare = Conditions(
        snr_db=None,
        transmitter=replace(conditions.transmitter, off_frequency_hz=0.0),
        receiver=replace(parse_receiver("wide"), agc="off"),
    )
    clean = simulate(voice, bare, seed).clip
    heard = [simulate(voice, conditions, seed + number).clip for number in range(DRAWS)]
    return _Passed(
        clip=heard[0],
        index=float(np.mean([index(clean, each) for each in heard])),
        loss=loss(clean, heard[0]),
    )


def index(clean: Clip, heard: Clip) -> float:
    """Return ESTOI of a sound against the clean one, both of one length and rate."""
    import warnings

    from pystoi import stoi

    with warnings.catch_warnings():
        # Too little speech for one span of its frames: pystoi says so and returns 1e-5.
        warnings.simplefilter("ignore", RuntimeWarning)
        return float(stoi(clean.samples, heard.samples, clean.rate_hz, extended=True))


def loss(clean: Clip, heard: Clip) -> Loss:
    """Return how alike the envelopes of clean and heard are, per third of an octave and over time.

    Frames of 25.6 ms every 12.8 ms; each correlation is over SPAN frames where the clean voice is
    on, as in STOI, without its clipping.
    """
    from pystoi.utils import thirdoct

    matrix, centres = thirdoct(INDEX_RATE_HZ, BINS, BANDS, LOWEST_HZ)
    first, second = (_envelopes(clip, matrix) for clip in (clean, heard))
    power = np.sum(first**2, axis=0)
    on = power > np.max(power) * 1e-4
    starts = range(0, first.shape[1] - SPAN + 1, SPAN // 3)
    hop_s = FRAME / 2 / INDEX_RATE_HZ
    alike, when = [], []
    for start in starts:
        if np.mean(on[start : start + SPAN]) < 0.5:
            continue
        x, y = (whole[:, start : start + SPAN] for whole in (first, second))
        x, y = (part - part.mean(axis=1, keepdims=True) for part in (x, y))
        size = np.linalg.norm(x, axis=1) * np.linalg.norm(y, axis=1)
        alike.append(np.sum(x * y, axis=1) / np.maximum(size, 1e-12))
        when.append((start + SPAN / 2) * hop_s - LEAD_IN_S)
    passed = [at for at, centre in enumerate(centres) if 300 <= centre <= 2700]
    table = np.array(alike)[:, passed] if alike else np.zeros((0, len(passed)))
    means = table.mean(axis=0) if len(table) else np.zeros(len(passed))
    return Loss(
        bands=tuple(
            (round(float(centres[at])), round(float(mean), 3))
            for at, mean in zip(passed, means, strict=True)
        ),
        times=tuple(
            (round(float(at_s), 2), round(float(row.mean()), 3))
            for at_s, row in zip(when, table, strict=True)
        ),
    )


def _envelopes(clip: Clip, matrix: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the envelopes of the bands, shape (bands, frames)."""
    from pystoi.utils import resample_oct, stft

    sound = resample_oct(clip.samples.astype(np.float64), INDEX_RATE_HZ, clip.rate_hz)
    spectrum = np.abs(np.asarray(stft(sound, FRAME, BINS, overlap=2)).T) ** 2
    return np.asarray(np.sqrt(matrix @ spectrum))


def _behind(ends: Sequence[FarEnd]) -> float | None:
    """Return by how many dB a take is worse than the reference, at the power where that is told."""
    ordered = sorted(ends, key=lambda end: end.snr_db)
    levels = [end.snr_db for end in ordered]
    curve = [end.reference for end in ordered]
    if any(low >= high for low, high in pairwise(curve)):
        return None
    found = [
        end.snr_db - float(np.interp(end.index, curve, levels))
        for end in ordered
        if curve[0] <= end.index <= curve[-1]
    ]
    return round(float(np.mean(found)), 1) if found else None


def where(lost: Loss, words: Sequence[tuple[str, float, float]], most: int = 3) -> tuple[str, ...]:
    """Return the words around which most was lost, at most so many, in the order of speaking.

    words: text, start and end in s of the take. None where nothing lies below WEAK.
    """
    means = []
    for place, (_, start_s, end_s) in enumerate(words):
        alike = [value for at_s, value in lost.times if start_s - 0.1 <= at_s <= end_s + 0.1]
        if alike and np.mean(alike) < WEAK:
            means.append((float(np.mean(alike)), place))
    worst = sorted(place for _, place in sorted(means)[:most])
    return tuple(words[place][0] for place in worst)
