"""Pitch and formants move as the operator asks."""

from dataclasses import replace

import numpy as np
import pytest

from drill.voices.engines.natural.bend import move_pitch, scale_formants
from drill.voices.operators import find_operator


def test_formants_move_by_the_scale() -> None:
    """A peak at bin 100 is at bin 90 after scaling by 0.9."""
    spectra = np.zeros((601, 3), np.float32)
    spectra[100] = 1
    assert scale_formants(spectra, 0.9)[:, 0].argmax() == 90
    assert scale_formants(spectra, 1.0) is spectra


def test_a_style_moves_the_first_formant_alone() -> None:
    """Peaks at 500 Hz and 2.4 kHz, 20 Hz a bin: only the lower one moves."""
    spectra = np.zeros((601, 2), np.float32)
    spectra[[25, 120]] = 1
    moved = scale_formants(spectra, 1.0, 1.2)
    assert moved[:100, 0].argmax() == 30
    assert 100 + moved[100:, 0].argmax() == 120


def test_melody_scales_the_pitch_movement_on_a_logarithmic_axis() -> None:
    pitch_hz = np.array([0, 100, 200, 400], np.float32)
    operator = replace(find_operator("copper"), pitch_hz=200.0, melody=0.5)
    moved = move_pitch(pitch_hz, operator)
    assert moved == pytest.approx([0, 200 / 2**0.5, 200, 200 * 2**0.5], rel=1e-5)
