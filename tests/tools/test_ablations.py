"""The ablations: each row changes the recipe, and the table has a line for each measured row."""

import json
from dataclasses import asdict
from pathlib import Path

import pytest

from drill.core.errors import UserError
from tests.tools.recogniser_sweep.sweep import Row
from tests.tools.train_recogniser.ablations import (
    CELLS,
    ablation_rows,
    ablation_table,
    bank_folder,
)

BANKS = Path("banks")


def test_every_row_is_a_separate_run() -> None:
    rows = ablation_rows()
    configs = [row.config for row in rows]
    assert all(configs.count(config) == 1 for config in configs)
    assert len({row.name for row in rows}) == len({row.title for row in rows}) == len(rows)


def test_rows_share_their_speech_unless_it_differs() -> None:
    whole, ways, habits = (
        bank_folder(BANKS, row.config) for row in ablation_rows(["whole-1", "no-ways", "no-habits"])
    )
    assert len({whole, ways, habits}) == 3
    assert bank_folder(BANKS, ablation_rows(["no-warps"])[0].config) == whole


def test_an_unknown_row_is_refused() -> None:
    with pytest.raises(UserError, match="no-sound"):
        ablation_rows(["no-sound"])


def test_the_table_has_the_measured_rows_and_cells(tmp_path: Path) -> None:
    (tmp_path / "no-ways").mkdir()
    for cell, right in zip(CELLS[:2], (3, 1), strict=True):
        rows = [
            Row(
                speaker="x", said="A", heard="A", errors=0, symbols=1, right=number < right,
                confidence=0.5, seconds=1.0, cpu_s=0.01,
            )
            for number in range(4)
        ]  # fmt: skip
        text = json.dumps({"cell": asdict(cell), "rows": [asdict(row) for row in rows]})
        (tmp_path / "no-ways" / cell.file_name).write_text(text)
    heads, _, *lines = ablation_table(tmp_path)
    assert heads == "| recipe | studio-validation steady clean | studio-validation steady +0 dB |"
    assert lines == ["| no ways of saying words | 75 | 25 |"]
