"""The roster: data about many different operators."""

from itertools import combinations
from random import Random

import numpy as np
import pytest

from drill import voices
from drill.core.models import Operator
from drill.session.absent_voices import MEASUREMENT_OPERATORS as DEFAULT_OPERATORS
from drill.voices.engines.formant.voice_file import formant_accents
from drill.voices.engines.natural.pronounce import natural_accents
from drill.voices.operators import find_operator
from drill.voices.people.roster import (
    BUNDLED_GROUP,
    OPERATOR_GROUPS,
    ROSTER,
    find_roster_entry,
    group_members,
    roster_entries,
)
from drill.voices.people.styles import apply_style_to_operator, vocal_styles
from tests.drill.voices.common import OVER
from tests.tools.pitch import median_pitch_hz
from tests.tools.voice_gate.calls import call_words, compose_gate_calls

EASY = [operator for operator in ROSTER if not operator.hard]
MEASUREMENT_OPERATORS = {
    "birch": (101.0, 0.86, 1.00, 0.0, 1.0),
    "maple": (127.0, 0.89, 0.90, 4.0, 1.0),
    "copper": (143.0, 0.92, 1.20, 0.0, 0.8),
    "pebble": (180.0, 0.98, 1.10, 0.0, 1.3),
    "meadow": (190.0, 1.00, 1.00, 0.0, 1.0),
    "clover": (226.0, 1.04, 1.05, 3.0, 1.0),
}
"""Pitch, formant scale, pace, breath and melody of version 0.2."""


def operator_name(operator: Operator) -> str:
    return operator.name


def test_the_roster_has_many_operators_with_different_names() -> None:
    assert len(EASY) >= 60
    assert len({operator.name for operator in ROSTER}) == len(ROSTER)
    for operator in ROSTER:
        assert operator.name.isalpha()
        assert operator.name not in OPERATOR_GROUPS


def test_a_group_holds_the_operators_of_its_rows() -> None:
    assert group_members(BUNDLED_GROUP) == ROSTER
    for group in OPERATOR_GROUPS:
        for entry in roster_entries(group):
            assert find_roster_entry(entry.operator.name) == entry
    assert find_roster_entry("nobody") is None


@pytest.mark.parametrize("operator", ROSTER, ids=operator_name)
def test_every_operator_is_within_the_range_of_its_engine(operator: Operator) -> None:
    """Pitch of speech, 70 to 350 Hz when shouted: common practice, no source."""
    styled = apply_style_to_operator(operator)
    assert 80 <= operator.pitch_hz <= 260
    assert 70 <= styled.pitch_hz <= 350
    assert 0.8 <= operator.formant_scale <= 1.1
    assert 0.8 <= styled.pace <= 1.45
    assert operator.vocal_style in vocal_styles()
    accents = {"natural": natural_accents(), "formant": formant_accents()}[operator.engine]
    assert operator.accent in ("", *accents)


def test_the_measurement_operators_are_those_of_version_0_2() -> None:
    """A changed voice would change the result of a measurement."""
    assert set(DEFAULT_OPERATORS) == set(MEASUREMENT_OPERATORS)
    for name, (pitch_hz, formant_scale, pace, breath_db, melody) in MEASUREMENT_OPERATORS.items():
        assert find_operator(name) == Operator(
            name=name,
            engine="natural",
            voice="heart",
            pitch_hz=pitch_hz,
            formant_scale=formant_scale,
            pace=pace,
            breath_db=breath_db,
            melody=melody,
        )


@pytest.mark.parametrize("engine", ["natural", "formant"])
def test_no_two_operators_are_nearly_the_same(engine: str) -> None:
    """Two operators within 2 % in pitch and formants differ in accent, style, pace or breath."""
    operators = [operator for operator in ROSTER if operator.engine == engine]
    for a, b in combinations(operators, 2):
        close = (
            abs(np.log(a.pitch_hz / b.pitch_hz)) < 0.02
            and abs(a.formant_scale - b.formant_scale) < 0.02
        )
        same_way = (a.accent, a.vocal_style) == (b.accent, b.vocal_style)
        distinct = not same_way or abs(a.breath_db - b.breath_db) >= 3
        assert not close or distinct or abs(a.pace - b.pace) >= 0.1, (a.name, b.name)


def test_every_style_and_accent_occurs() -> None:
    assert {operator.vocal_style for operator in EASY} == set(vocal_styles())
    assert {operator.accent for operator in EASY} >= {"", *natural_accents()}
    plain = sum(operator.vocal_style == "plain" for operator in EASY)
    assert 0.4 < plain / len(EASY) < 0.75


@pytest.mark.parametrize("engine", ["natural", "formant"])
def test_a_lower_voice_has_lower_formants(engine: str) -> None:
    operators = [operator for operator in ROSTER if operator.engine == engine]
    log_pitch = np.log([operator.pitch_hz for operator in operators])
    assert np.corrcoef(log_pitch, [operator.formant_scale for operator in operators])[0, 1] > 0.9


@pytest.mark.parametrize("operator", ROSTER[::4], ids=operator_name)
def test_an_operator_speaks_at_its_pitch(operator: Operator) -> None:
    """The melody of a single over may be off by a tenth and more."""
    clip = voices.speak_uncached(OVER, operator, 7)
    pitch_hz = apply_style_to_operator(operator).pitch_hz
    assert median_pitch_hz(clip) == pytest.approx(pitch_hz, rel=0.12)


@pytest.mark.slow
@pytest.mark.parametrize("operator", ROSTER, ids=operator_name)
def test_every_operator_speaks_calls_at_its_pitch(operator: Operator) -> None:
    """Median over five calls: the melody of a single call may be off by a tenth."""
    pitches_hz = [
        median_pitch_hz(voices.speak_uncached(call_words(call), operator, 7))
        for call in compose_gate_calls(5, Random(2))
    ]
    pitch_hz = apply_style_to_operator(operator).pitch_hz
    assert float(np.median(pitches_hz)) == pytest.approx(pitch_hz, rel=0.12)
