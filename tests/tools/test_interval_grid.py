"""The grid of listeners: figures computed by hand, groups, and resuming an interrupted run."""

import tempfile
from pathlib import Path

import numpy as np
import pytest

from tests.tools.interval_grid import (
    QUANTITIES,
    grid_quality,
    grid_table_lines,
    kept_results_file,
    listener_groups,
    simulate_grid,
    simulate_grid_person,
)
from tests.tools.simulated_listeners import GRID_LISTENERS


def test_the_quality_of_four_people_equals_a_calculation_by_hand() -> None:
    """Two of four intervals contain 0, and one of two pairs differs.

    The columns are error, low end, high end and SD.
    """
    figures = np.array([[0, -1, 1, 0.5], [1, 0.5, 2, 0.5], [-1, -2, 1, 0.5], [3, 1, 4, 0.5]])
    quality = grid_quality(figures)
    assert (quality.coverage, quality.false_changes, quality.n) == (0.5, 0.5, 4)
    assert quality.bias == pytest.approx(0.75)
    assert quality.bias_error == pytest.approx(np.sqrt(2.1875 / 4))
    assert quality.width == pytest.approx(2.5)


def test_each_property_splits_all_listeners_into_equal_groups() -> None:
    groups = dict(listener_groups())
    assert len(groups["slope 4% per dB"]) == 27
    assert len(groups["Weibull"]) == len(groups["item spread 4 dB"]) == 45
    assert sum(map(len, groups.values())) == 4 * len(GRID_LISTENERS) == 4 * 135


def test_a_repeated_run_continues_where_it_was_interrupted(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    first = simulate_grid(1, 9, 1, [134])[134]
    path = kept_results_file(9)
    assert path.parent == tmp_path
    kept = path.read_text("utf-8")
    path.write_text(kept + "[134, [[0.1, ", "utf-8")  # killed while writing
    both = simulate_grid(2, 9, 1, [134])[134]
    assert both.shape == (2, len(QUANTITIES), 4)
    assert (both[0] == first[0]).all()
    assert both[1].tolist() == simulate_grid_person((134, 10))
    assert path.read_text("utf-8").startswith(kept)
    assert path.read_text("utf-8").count("\n") == 2


def test_the_table_names_every_group_and_the_worst_listener() -> None:
    figures = np.tile([0.1, -1.0, 1.0, 0.5], (2, len(QUANTITIES), 1))
    results = {index: figures.copy() for index in range(len(GRID_LISTENERS))}
    results[7][:, 1] += 2.0  # the intervals of x80 no longer contain 0
    lines = list(grid_table_lines(results))
    assert lines[0] == "2 people of each kind."
    assert all(
        any(line.startswith(f"| {label} |") for line in lines) for label, _ in listener_groups()
    )
    assert (
        f"| lowest coverage of x80 | {GRID_LISTENERS[7].name} | 0.000; 1 of 135 below 0.90 |"
        in lines
    )
    assert (
        f"| largest bias of x80 | {GRID_LISTENERS[7].name} | +2.10 +- 0.00 dB; 1 of 135 beyond "
        "0.5 dB, 1 of them by more than two standard errors |" in lines
    )
