"""Several models side by side: whole items correct in each cell that all of them have."""

from collections.abc import Sequence
from pathlib import Path

from tests.tools.recogniser_sweep.sweep import Cell, read_results, share_right
from tests.tools.recogniser_sweep.tables import CLEAN_DB, wilson_interval


def comparison_table(folders: Sequence[Path]) -> list[str]:
    """Return the lines of a Markdown table: a row for each cell, a column for each folder.

    folders: of results; the columns are named after them. A value is the share of items with
    everything right in percent; the last column is the 95 % interval of a share of a half with as
    many items (Wilson).
    """
    found = [read_results(folder) for folder in folders]
    shared = set(found[0]).intersection(*found[1:])
    names = [folder.name for folder in folders]
    lines = [
        f"| set | condition | SNR | n | {' | '.join(names)} | interval at 50 |",
        "|---|---|---|---|" + "---|" * (len(names) + 1),
    ]
    for cell in sorted(shared, key=_order):
        count = len(found[0][cell])
        shares = [f"{100 * share_right(results[cell]):.0f}" for results in found]
        low, high = wilson_interval(count // 2, count)
        snr = "clean" if cell.snr_db is None else f"{cell.snr_db:+g} dB"
        lines.append(
            f"| {cell.test_set} | {cell.condition} | {snr} | {count} | {' | '.join(shares)} | "
            f"{100 * low:.0f}-{100 * high:.0f} |"
        )
    return lines


def _order(cell: Cell) -> tuple[str, str, float]:
    return cell.test_set, cell.condition, -(CLEAN_DB if cell.snr_db is None else cell.snr_db)
