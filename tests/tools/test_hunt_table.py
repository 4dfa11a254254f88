"""The table of whole hours: how its figures are computed."""

import math
from itertools import product
from pathlib import Path

import pytest

from drill.hunt.hunter import POLICIES
from tests.tools.hunt_table import BANDS, WATTS, HuntRun, luck_lines, run_all, run_hunt, table


def runs() -> list[HuntRun]:
    """Return two seeds of invented hunts: power and policy 'strongest' add contacts."""
    return [
        HuntRun(
            band=band,
            policy=policy,
            watts=watts,
            seed=seed,
            minutes=30.0,
            logged=20,
            verdicts={"right": 4 + seed + (policy == "strongest") + round(watts / 10)},
            early=2 * (policy != "first"),
            overs=50,
        )
        for seed, band, policy, watts in product(range(2), BANDS, POLICIES, WATTS)
    ]


def test_cells_are_contacts_in_an_hour() -> None:
    lines = list(table(runs()))
    assert lines[0] == "Seeds 0 to 1; n is the number of hunts in a cell."
    row = next(line for line in lines if line.startswith("| open | strongest"))
    # Half an hour: 4 + 0 or 1 + 1 + 10 right contacts at 100 W, so 30 or 32 in an hour.
    assert "| 31.0 (1.4), logged 40.0, n 2 |" in row


def test_gains_are_paired_by_seed() -> None:
    whole, half = list(table(runs()))[-4:-2]
    cells = "+1.0 (+1.0 to +1.0), n 2 | +0.0 (+0.0 to +0.0), n 2"
    assert whole == f"| nearly-dead | whole | 4.5 | {cells} | 1.00, n 6 |"
    cells = "+2.0 (+2.0 to +2.0), n 2 | +2.0 (+2.0 to +2.0), n 2"
    assert half == f"| nearly-dead | first half | 0.0 | {cells} | |"


def test_luck_is_by_band_policy_and_power() -> None:
    text = "\n".join(luck_lines(runs()))
    assert text.count("[[luck]]") == len(BANDS) * 2 * len(WATTS)
    # Variance 0.5 in every cell; mean over all cells 4.5 + 1/3 + 11/3.
    sd = math.sqrt(0.5 / 8.5 * 11)
    wanted = f'band = "closing"\npolicy = "strongest"\nwatts = 5.0\nmean = 11.0\nsd = {sd:.1f}'
    assert wanted in text


def test_a_run_continues_where_it_stopped(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("tests.tools.hunt_table.BANDS", ("nearly-dead",))
    monkeypatch.setattr("tests.tools.hunt_table.WATTS", (5.0,))
    file = tmp_path / "runs.jsonl"
    first = run_all([0], 2.0, str(file))
    assert first[0] == run_hunt("nearly-dead", "first", 5.0, 0, 2.0)
    monkeypatch.setattr("tests.tools.hunt_table.run_hunt", None)
    assert run_all([0], 2.0, str(file)) == first
    assert run_all([], 2.0, str(file)) == first
