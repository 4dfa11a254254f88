"""Levels of the terminal's recorders."""

import pytest

from drill.cli.speech_detection import amplitude_db


@pytest.mark.parametrize(("amplitude", "level_db"), [(1.0, 0.0), (0.1, -20.0), (0.0, -120.0)])
def test_an_amplitude_in_decibels(amplitude: float, level_db: float) -> None:
    """20 log10 of the amplitude."""
    assert amplitude_db(amplitude) == pytest.approx(level_db)
