"""The measure of how alike operators are tells known cases apart."""

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
from drill.voices.people.roster import ROSTER, operator
from tests.tools.distinctness import (
    HIGH_HZ,
    LOW_HZ,
    UTTERANCES,
    cepstrum,
    likeness,
    lines_of,
    listen,
    mel_bands,
    numbers,
)

DEVELOPERS = (Path(__file__).parents[2] / "DEVELOPERS.md").read_text("utf-8")


def people(count: int) -> list[Operator]:
    return [replace(operator("tin"), name=f"person {number}") for number in range(count)]


def test_strangers_are_told_apart_and_twins_are_not() -> None:
    """Four people on a line, ten SD apart, and two at one place."""
    rng = np.random.default_rng(3)
    centres = np.array([0, 10, 20, 30, 30.0])[:, None, None] * np.ones((1, 1, 5))
    found = likeness(people(5), centres + rng.standard_normal((5, 40, 5)))
    assert (found.told[:3] == 1).all()
    assert 0.2 < found.told[3:].mean() < 0.8
    assert found.distance_sd[0, 1] == pytest.approx(10 * np.sqrt(5), rel=0.1)
    distance, a, b = found.pairs()[0]
    assert {a.name, b.name} == {"person 3", "person 4"}
    assert distance < 1


def test_an_utterance_is_not_its_own_witness() -> None:
    """With two utterances each and nothing but noise, chance is what is reached."""
    heard = np.random.default_rng(4).standard_normal((40, 2, 8))
    assert likeness(people(40), heard).told.mean() < 0.1
    with pytest.raises(ValueError, match="two utterances"):
        likeness(people(40), heard[:, :1])


def test_the_numbers_do_not_hang_on_level_or_on_what_no_receiver_passes() -> None:
    rng = np.random.default_rng(5)
    pulses = np.zeros(32_000)
    pulses[::133] = 1.0  # 120.3 Hz
    sound = lfilter([1], [1, -1.6, 0.8], pulses) + 0.001 * rng.standard_normal(32_000)

    def clip(samples: NDArray[Any]) -> Clip:
        words = (WordTime(say="x", start_s=0, end_s=1), WordTime(say="x", start_s=1, end_s=2))
        return Clip(samples=samples.astype(np.float32), rate_hz=16_000, words=words)

    plain = clip(sound / np.abs(sound).max() * 0.8)
    quiet = clip(plain.samples * 0.5)
    found = numbers(plain)
    assert 2 ** found[0] == pytest.approx(120.3, rel=0.01)
    assert found[1] == pytest.approx(1.0)
    assert cepstrum(quiet) == pytest.approx(cepstrum(plain), abs=1e-3)
    high = 0.05 * np.sin(2 * np.pi * 5000 * np.arange(32_000) / 16_000)
    assert cepstrum(clip(plain.samples + high)).mean(axis=0) == pytest.approx(
        cepstrum(plain).mean(axis=0), abs=0.05
    )


def test_the_bands_fill_the_passband_and_no_more() -> None:
    frequency = np.linspace(0, 8000, 1601)
    weights = mel_bands(frequency).sum(axis=0)
    assert not weights[(frequency < LOW_HZ) | (frequency > HIGH_HZ)].any()
    assert weights[(frequency > 400) & (frequency < 2400)] == pytest.approx(1)


def test_real_voices_are_told_apart() -> None:
    some = [operator(name) for name in ("granite", "tin", "wren", "ladder", "kettle")]
    found = listen(some, voices.utter, utterances=4)
    assert found.told.mean() == 1
    assert found.spoken[:, 0] == pytest.approx([85, 116, 214, 110, 192], rel=0.1)
    twin = replace(some[1], name="twin", pitch_hz=117.0)
    paired = listen([*some, twin], voices.utter, utterances=4)
    distance, a, b = paired.pairs()[0]
    assert {a.name, b.name} == {"tin", "twin"}
    assert distance < 0.5 * found.pairs()[0][0]


def test_the_table_in_the_guide_is_of_this_roster() -> None:
    block = DEVELOPERS.split("<!-- distinct -->")[1].split("<!-- /distinct -->")[0]
    summary = re.search(r"(\d+) operators, (\d+) calls each: ([\d.]+) % ", block)
    assert summary
    assert int(summary[1]) == len(ROSTER)
    assert int(summary[2]) == UTTERANCES
    assert float(summary[3]) > 85
    named = re.findall(r"^\| (\w+), (\w+) \|", block, re.MULTILINE)
    assert {name for pair in named for name in pair} <= {each.name for each in ROSTER}


def test_the_lines_hold_what_was_found() -> None:
    rng = np.random.default_rng(6)
    centres = 10.0 * np.arange(3)[:, None, None] * np.ones((1, 1, 4))
    found = likeness(people(3), centres + rng.standard_normal((3, UTTERANCES, 4)))
    told = lines_of(found)
    assert told[0].startswith(f"3 operators, {UTTERANCES} calls each: 100.0 %")
    assert "none below 100 %" in told[0]
    assert told[-1].startswith("| person 1, person 2 |") or told[-1].startswith("| person 0")
