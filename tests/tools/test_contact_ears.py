"""The fit of the modelled listener: it recovers a known curve, and reads and writes its files."""

from pathlib import Path

import numpy as np
import pytest

from drill.contact.values import load_values
from tests.tools.contact_ears import CLEAN_DB, Fit, fit, sweep_curve, with_values

ROOT = Path(__file__).parents[2]


def test_a_known_curve_is_recovered() -> None:
    levels = np.arange(-15.0, 16.0, 1.5)
    truth = Fit(threshold_db=-6.5, slope_per_db=0.6, lapse=0.02)
    shares = (1 - truth.lapse) / (1 + np.exp(-truth.slope_per_db * (levels - truth.threshold_db)))
    best = fit(list(levels), list(shares), [1000.0] * len(levels))
    assert best.threshold_db == pytest.approx(truth.threshold_db, abs=0.05)
    assert best.slope_per_db == pytest.approx(truth.slope_per_db, abs=0.02)
    assert best.lapse == pytest.approx(truth.lapse, abs=0.003)


def test_the_sweep_is_read_from_its_table() -> None:
    levels, shares = sweep_curve((ROOT / "tests/measured/own_recogniser.md").read_text("utf-8"))
    assert levels[0] == CLEAN_DB
    assert sorted(levels) == sorted(set(levels))
    assert all(0 <= share <= 1 for share in shares)
    assert shares[0] > 0.9 > shares[-1]


def test_figures_are_written_into_their_section_only() -> None:
    text = (ROOT / "drill/contact/values.toml").read_text("utf-8")
    changed = with_values(text, "recogniser", {"threshold_db": -5.5})
    (line,) = set(changed.splitlines()) - set(text.splitlines())
    assert line == "threshold_db = -5.5"
    assert f"threshold_db = {load_values().ears.threshold_db:g}" in changed
    with pytest.raises(ValueError, match="no nonsense"):
        with_values(text, "recogniser", {"nonsense": 1.0})
