"""Formants and pitch of the model's output are moved as an operator needs it."""

from dataclasses import replace

import numpy as np
import pytest

from drill.voices.engines.natural import bend
from drill.voices.operators import find_operator


def test_the_formants_move_by_the_scale() -> None:
    """A peak at bin 100 of a flat grid is at bin 90 after a scale of 0.9."""
    grid = np.zeros((601, 3), np.float32)
    grid[100] = 1
    assert bend.scale_formants(grid, 0.9)[:, 0].argmax() == 90
    assert bend.scale_formants(grid, 1.0) is grid


def test_the_first_formant_moves_alone() -> None:
    """Peaks at 500 Hz and 2.4 kHz, 20 Hz a bin: only the lower one moves by the factor."""
    grid = np.zeros((601, 2), np.float32)
    grid[[25, 120]] = 1
    moved = bend.scale_formants(grid, 1.0, 1.2)
    assert moved[:100, 0].argmax() == 30
    assert 100 + moved[100:, 0].argmax() == 120


def test_melody_scales_the_pitch_movement_on_a_logarithmic_axis() -> None:
    curve = np.array([0, 100, 200, 400], np.float32)
    operator = replace(find_operator("copper"), pitch_hz=200.0, melody=0.5)
    assert bend.move_pitch(curve, operator) == pytest.approx(
        [0, 200 / 2**0.5, 200, 200 * 2**0.5], rel=1e-5
    )
