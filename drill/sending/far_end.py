"""A take as received at the far end at several powers, compared with a reference voice.

The reference voice says the same words through the same noise and fading, so any difference between
the two indices comes from the trainee's voice and microphone.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import sqrt

import numpy as np

from drill import voices
from drill.core.arrays import FloatArray
from drill.core.conditions import Conditions
from drill.core.models import Clip, Operator
from drill.linkbudget.budget import snr_from_watts
from drill.psychometrics.intervals import Interval
from drill.radio.channel import simulate
from drill.radio.presets import parse_receiver
from drill.sending.intelligibility import (
    EnvelopeCorrelation,
    correlate_envelopes,
    estoi_index,
    trim_silence,
)
from drill.sending.models import Prompt
from drill.voices.operators import find_operator

FAR_END_WATTS = (100.0, 20.0, 5.0)
REFERENCE_OPERATORS = ("meadow", "pebble", "willow", "tin")
"""Operators to compare with, the most intelligible first; the first one that can speak is used."""
CHANNEL_DRAWS = 5
"""Draws of noise and fading for an index: in a few seconds, chance decides which word a fade or a
burst of static meets."""
T_975 = 2.776
"""97.5 % point of Student's t distribution with CHANNEL_DRAWS - 1 degrees of freedom."""
WORDING_SD_DB = 0.5
"""How much one voice varies in dB from one take of the same words to the next: see
tests/measured/sending_index.md."""


@dataclass(frozen=True, kw_only=True, eq=False)
class FarEnd:
    """A take and the reference voice at one power.

    snr_db: requested SNR in 3 kHz. clip, reference_clip: both as received, without the silence
    around the words. indices, reference_indices: their ESTOI in each draw of noise and fading.
    correlation: of the take's envelopes with those before the channel, times as in the take.
    """

    watts: float
    snr_db: float
    clip: Clip
    reference_clip: Clip
    indices: tuple[float, ...]
    reference_indices: tuple[float, ...]
    correlation: EnvelopeCorrelation

    @property
    def index(self) -> float:
        """Mean ESTOI of the take."""
        return float(np.mean(self.indices))

    @property
    def reference_index(self) -> float:
        """Mean ESTOI of the reference voice."""
        return float(np.mean(self.reference_indices))


@dataclass(frozen=True, kw_only=True, eq=False)
class FarEnds:
    """A take at several powers.

    operator: name of the reference voice. behind_db: number of dB by which the take is worse than
    the reference, negative if it is better: the SNR by which the reference would have to fall for
    the same index, with its 95 % interval. None if that is outside the powers compared.
    """

    ends: tuple[FarEnd, ...]
    operator: str
    behind_db: Interval | None


def reference_operator() -> Operator:
    """Return the operator to compare takes with. Raises: NoVoice if none can speak here."""
    return voices.usable_operators([find_operator(name) for name in REFERENCE_OPERATORS])[0]


def simulate_far_ends(
    clip: Clip,
    prompt: Prompt,
    conditions: Conditions,
    *,
    path_snr_db: float,
    seed: int,
    watts: Sequence[float] = FAR_END_WATTS,
) -> FarEnds:
    """Return a take as received from each power.

    conditions: of the path; SNR and neighbours are replaced. path_snr_db: SNR in 3 kHz at 100 W.
    seed: of noise and fading, which are the same for take and reference.

    Raises: NoVoice; UserError if a power or the path's SNR is out of range; ValueError if the clip
    is silent.
    """
    operator = reference_operator()
    # With silence around them, the words would meet different noise and fading from the reference.
    voice, start_s = trim_silence(clip)
    reference, _ = trim_silence(voices.speak(prompt.words, operator, prompt.seed))
    ends = []
    for power in watts:
        path = far_end_conditions(conditions, path_snr_db, power)
        assert path.snr_db is not None
        received = _receive(voice, path, seed)
        received_reference = _receive(reference, path, seed)
        ends.append(
            FarEnd(
                watts=power,
                snr_db=path.snr_db,
                clip=received.clip,
                reference_clip=received_reference.clip,
                indices=received.indices,
                reference_indices=received_reference.indices,
                correlation=received.correlation.shifted(start_s),
            )
        )
    return FarEnds(ends=tuple(ends), operator=operator.name, behind_db=distance_behind(ends))


def far_end_conditions(conditions: Conditions, path_snr_db: float, watts: float) -> Conditions:
    """Return the conditions with the SNR at a power and without neighbours.

    path_snr_db: SNR in 3 kHz of 100 W. Raises: UserError if power or SNR are out of range.
    """
    snr_db = round(snr_from_watts(path_snr_db, watts), 2)
    return replace(conditions, snr_db=snr_db, neighbours=())


@dataclass(frozen=True, kw_only=True, eq=False)
class _ReceivedVoice:
    """A voice after the channel: clip and correlation of the first draw, index of each draw."""

    clip: Clip
    indices: tuple[float, ...]
    correlation: EnvelopeCorrelation


def _receive(voice: Clip, conditions: Conditions, seed: int) -> _ReceivedVoice:
    """Return a voice after the channel, compared with the same voice after the filters alone."""
    filters_alone = Conditions(
        snr_db=None,
        transmitter=replace(conditions.transmitter, off_frequency_hz=0.0),
        receiver=replace(parse_receiver("wide"), agc="off"),
    )
    clean = simulate(voice, filters_alone, seed).clip
    draws = [simulate(voice, conditions, seed + draw).clip for draw in range(CHANNEL_DRAWS)]
    return _ReceivedVoice(
        clip=draws[0],
        indices=tuple(estoi_index(clean, draw) for draw in draws),
        correlation=correlate_envelopes(clean, draws[0]),
    )


def distance_behind(ends: Sequence[FarEnd]) -> Interval | None:
    """Return the mean distance of the take from the reference in dB; see FarEnds.

    Each draw gives a distance of its own, in which the noise that both voices met cancels. The
    interval covers the variation between draws and between takes of one voice.
    """
    ordered = sorted(ends, key=lambda end: end.snr_db)
    curve = [end.reference_index for end in ordered]
    if any(low >= high for low, high in pairwise(curve)):
        return None
    distances_db = np.array([_distances_db(end, ordered, curve) for end in ordered])
    within = ~np.isnan(distances_db).any(axis=1)
    if not within.any():
        return None
    by_draw = distances_db[within].mean(axis=0)
    mean_db = float(by_draw.mean())
    drawn_db = T_975 * float(by_draw.std(ddof=1)) / sqrt(len(by_draw))
    half_db = sqrt(drawn_db**2 + (1.96 * WORDING_SD_DB) ** 2)
    return Interval(value=mean_db, low=mean_db - half_db, high=mean_db + half_db)


def _distances_db(end: FarEnd, ordered: Sequence[FarEnd], curve: Sequence[float]) -> FloatArray:
    """Return by how many dB the take is worse in each draw, shape (draws,).

    ordered, curve: the far ends and the reference's mean index by rising SNR. A distance is NaN if
    the index lies outside the curve.
    """
    indices = end.reference_index + np.subtract(end.indices, end.reference_indices)
    snrs_db = np.interp(indices, curve, [other.snr_db for other in ordered])
    outside = (indices < curve[0]) | (indices > curve[-1])
    return np.asarray(np.where(outside, np.nan, end.snr_db - snrs_db))
