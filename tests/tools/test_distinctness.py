"""The measure of distinctness is right in known cases, and its stored table is up to date."""

import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.signal import lfilter

from drill import voices
from drill.core.models import Clip, Operator, WordTime
from drill.voices.operators import find_operator
from drill.voices.people.roster import ROSTER
from tests.tools.distinctness import (
    HIGH_HZ,
    LOW_HZ,
    UTTERANCES,
    Distinctness,
    compare_operators,
    measure_distinctness,
    mel_bands,
    mel_cepstrum,
    report_lines,
    speaker_features,
)

MEASURED = Path(__file__).parents[1] / "measured" / "distinctness.md"


def example_operators(count: int) -> list[Operator]:
    tin = find_operator("tin")
    return [replace(tin, name=f"operator {number}") for number in range(count)]


def closest_names(result: Distinctness) -> set[str]:
    _, a, b = result.closest_pairs()[0]
    return {result.operators[a].name, result.operators[b].name}


def test_distant_operators_are_recognised_and_identical_ones_are_not() -> None:
    """Four operators on a line, 10 SD apart in each feature, the last of them twice."""
    rng = np.random.default_rng(3)
    centres = np.array([0, 10, 20, 30, 30.0])[:, None, None] * np.ones((1, 1, 5))
    features = centres + rng.standard_normal((5, 40, 5))
    result = measure_distinctness(example_operators(5), features)
    assert (result.recognised[:3] == 1).all()
    assert 0.2 < result.recognised[3:].mean() < 0.8
    assert result.distance_sd[0, 1] == pytest.approx(10 * np.sqrt(5), rel=0.1)
    assert closest_names(result) == {"operator 3", "operator 4"}
    assert result.closest_pairs()[0][0] < 1


def test_an_utterance_does_not_count_towards_its_own_centroid() -> None:
    """With pure noise and two utterances for each of 40 operators, recognition is at chance."""
    features = np.random.default_rng(4).standard_normal((40, 2, 8))
    assert measure_distinctness(example_operators(40), features).recognised.mean() < 0.1
    with pytest.raises(ValueError, match="two utterances"):
        measure_distinctness(example_operators(40), features[:, :1])


def test_features_do_not_depend_on_level_or_on_sound_outside_the_passband() -> None:
    rng = np.random.default_rng(5)
    pulses = np.zeros(32_000)
    pulses[::133] = 1.0  # 120.3 Hz
    voice = lfilter([1], [1, -1.6, 0.8], pulses) + 0.001 * rng.standard_normal(32_000)

    def clip(samples: NDArray[Any]) -> Clip:
        words = (WordTime(say="x", start_s=0, end_s=1), WordTime(say="x", start_s=1, end_s=2))
        return Clip(samples=samples.astype(np.float32), rate_hz=16_000, words=words)

    loud = clip(voice / np.abs(voice).max() * 0.8)
    soft = clip(loud.samples * 0.5)
    features = speaker_features(loud)
    assert 2 ** features[0] == pytest.approx(120.3, rel=0.01)
    assert features[1] == pytest.approx(1.0)
    assert mel_cepstrum(soft) == pytest.approx(mel_cepstrum(loud), abs=1e-3)
    high_tone = 0.05 * np.sin(2 * np.pi * 5000 * np.arange(32_000) / 16_000)
    assert mel_cepstrum(clip(loud.samples + high_tone)).mean(axis=0) == pytest.approx(
        mel_cepstrum(loud).mean(axis=0), abs=0.05
    )


def test_the_bands_fill_the_passband_and_end_with_it() -> None:
    frequency = np.linspace(0, 8000, 1601)
    weights = mel_bands(frequency).sum(axis=0)
    assert not weights[(frequency < LOW_HZ) | (frequency > HIGH_HZ)].any()
    assert weights[(frequency > 400) & (frequency < 2400)] == pytest.approx(1)


def test_synthetic_voices_are_recognised_and_a_near_copy_is_the_closest() -> None:
    operators = [find_operator(name) for name in ("granite", "tin", "wren", "ladder", "kettle")]
    result = compare_operators(operators, voices.speak_uncached, utterances=4)
    assert result.recognised.mean() == 1
    assert result.pitch_hz == pytest.approx([85, 116, 214, 110, 192], rel=0.1)
    copy = replace(operators[1], name="copy", pitch_hz=117.0)
    with_copy = compare_operators([*operators, copy], voices.speak_uncached, utterances=4)
    assert closest_names(with_copy) == {"tin", "copy"}
    assert with_copy.closest_pairs()[0][0] < 0.5 * result.closest_pairs()[0][0]


def test_the_stored_table_matches_the_roster() -> None:
    text = MEASURED.read_text("utf-8")
    block = text.split("<!-- distinct -->")[1].split("<!-- /distinct -->")[0]
    summary = re.search(r"(\d+) operators, (\d+) calls each: ([\d.]+) % ", block)
    assert summary
    assert int(summary[1]) == len(ROSTER)
    assert int(summary[2]) == UTTERANCES
    assert float(summary[3]) > 85
    pairs = re.findall(r"^\| (\w+), (\w+) \|", block, re.MULTILINE)
    assert {name for pair in pairs for name in pair} <= {operator.name for operator in ROSTER}


def test_the_report_has_the_summary_and_the_closest_pairs() -> None:
    rng = np.random.default_rng(6)
    centres = 10.0 * np.arange(3)[:, None, None] * np.ones((1, 1, 4))
    features = centres + rng.standard_normal((3, UTTERANCES, 4))
    lines = report_lines(measure_distinctness(example_operators(3), features))
    assert lines[0].startswith(f"3 operators, {UTTERANCES} calls each: 100.0 %")
    assert "none below 100 %" in lines[0]
    assert lines[-1].startswith(("| operator 1, operator 2 |", "| operator 0"))
