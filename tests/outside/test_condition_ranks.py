"""Outside check of the machine's thresholds: two published indices rank the conditions similarly.

The sets of conditions are placed by the SNR at which the recogniser `own` copies half of composed
calls (tests/measured/conditions.md). Two indices that are independent of calls and of the
recogniser have to rank them in about the same order: better than chance at the 5 % level. For
Spearman's rho, one-sided, that is 0.464 with 14 pairs and 0.484 with 13 (J. H. Zar, J. Am. Stat.
Assoc. 67 (1972), 578-580, values from memory).

Sources: ABC-MRT16, S. Voran, A multiple bandwidth objective speech intelligibility estimator,
ICASSP 2017, package abcmrt16, by tests/tools/rhyme_test_conditions.py; ESTOI, J. Jensen and
C. Taal, IEEE/ACM Trans. Audio 24 (2016), package pystoi.
"""

import re
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from scipy.stats import spearmanr

from drill import voices
from drill.core.conditions import Conditions
from drill.core.models import Clip
from drill.radio.channel import simulate
from drill.radio.presets import load_preset, parse_receiver
from drill.sending.intelligibility import estoi_index
from drill.voices.operators import find_operator
from phonetics.message import Word
from tests.tools.rhyme_test_conditions import machine_thresholds_db

MEASURED = Path(__file__).parents[1] / "measured"
THRESHOLDS_DB = machine_thresholds_db((MEASURED / "conditions.md").read_text("utf-8"))
SPOKEN = {
    "meadow": "kilo lima seven alfa bravo charlie",
    "pebble": "echo eight papa quebec romeo",
    "willow": "november three whiskey x-ray zulu",
}
SNRS_DB = (0.0, 6.0)


def rank_correlation(indices: dict[str, float]) -> float:
    """Return Spearman's rho between an index and the negative of the machine's threshold."""
    thresholds_db = [THRESHOLDS_DB[name] for name in indices]
    return float(spearmanr(list(indices.values()), np.negative(thresholds_db)).statistic)


def test_the_rhyme_test_index_ranks_conditions_as_the_machine_does() -> None:
    table = (MEASURED / "rhyme_test.md").read_text("utf-8")
    _, _, table = table.partition("<!-- rhyme_test_conditions -->")
    rows = re.findall(r"^\| `([\w-]+)` \| (\d+) \| [+-][\d.]+ \|$", table, re.MULTILINE)
    indices = {name: float(index) for name, index in rows}
    assert set(indices) == set(THRESHOLDS_DB)
    assert rank_correlation(indices) >= 0.464


@pytest.mark.slow
def test_estoi_ranks_conditions_as_the_machine_does() -> None:
    """`off-tune` is left out: ESTOI compares bands at equal frequencies; mistuning moves them."""
    clips = [
        voices.speak(tuple(Word(say=word) for word in text.split()), find_operator(name), 1)
        for name, text in SPOKEN.items()
    ]
    indices = {
        name: mean_estoi(clips, load_preset(name).conditions)
        for name in THRESHOLDS_DB
        if name != "off-tune"
    }
    assert indices["near-thunder"] > indices["plain"] > indices["two-at-once"]
    assert rank_correlation(indices) >= 0.484


def mean_estoi(clips: Sequence[Clip], conditions: Conditions) -> float:
    """Return ESTOI averaged over clips and SNRS_DB; neighbours say the other clips."""
    filters_alone = Conditions(
        snr_db=None,
        transmitter=replace(conditions.transmitter, off_frequency_hz=0.0),
        receiver=replace(parse_receiver("wide"), agc="off"),
    )
    values = []
    for number, clip in enumerate(clips):
        clean = simulate(clip, filters_alone, number).clip
        others = [
            clips[(number + place + 1) % len(clips)] for place in range(len(conditions.neighbours))
        ]
        for snr_db in SNRS_DB:
            noisy = replace(conditions, snr_db=snr_db)
            received = simulate(clip, noisy, number, others).clip
            length = min(len(clean.samples), len(received.samples))
            values.append(estoi_index(_first(clean, length), _first(received, length)))
    return float(np.mean(values))


def _first(clip: Clip, length: int) -> Clip:
    return Clip(samples=clip.samples[:length], rate_hz=clip.rate_hz)
