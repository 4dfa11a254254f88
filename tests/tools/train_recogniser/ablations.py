"""Ablations: short training runs with one part of the recipe left out, and their table.

python -m tests.tools.train_recogniser.ablations train START BANKS RUNS: for each row of
ablation_rows.toml renders its speech, trains from the weights START (average.pt of a run that has
begun to output words) and exports RUNS/NAME.onnx; a stopped run continues. Measure each model with
recogniser_sweep into RESULTS/NAME (the cells are CELLS), then `... ablations table RESULTS --into
tests/measured/own_recogniser.md`.
"""

import argparse
import logging
import os
import sys
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from drill.core.errors import FaintcallError, UserError
from tests.tools.recogniser_sweep.sweep import Cell, read_results, share_right
from tests.tools.tables import write_table
from tests.tools.train_recogniser.config import RunConfig, read_config

HERE = Path(__file__).parent
CONFIG, ROWS = HERE / "ablation.toml", HERE / "ablation_rows.toml"
CELLS = tuple(
    Cell(test_set=test_set, condition=condition, snr_db=snr_db)
    for test_set, condition, snr_db in (
        ("studio-validation", "steady", None),
        ("studio-validation", "steady", 0.0),
        ("studio-validation", "steady", -3.0),
        ("studio-validation", "fading:mid-moderate", 6.0),
        ("studio-validation", "busy-weekend", 0.0),
        ("studio-validation", "lead:3", 6.0),
        ("human", "steady", None),
        ("human", "steady", 0.0),
        ("human", "fading:mid-moderate", 6.0),
        ("unseen-engine", "steady", None),
        ("unseen-engine", "steady", 0.0),
        ("hts-validation", "steady", None),
        ("hts-validation", "steady", 0.0),
    )
)
"""The columns of the table."""


@dataclass(frozen=True, kw_only=True, slots=True)
class AblationRow:
    """One run. changes: entries of the configuration ("section.key") and their values."""

    name: str
    title: str
    changes: dict[str, object]

    @property
    def config(self) -> RunConfig:
        """Return the configuration of the run."""
        return read_config(CONFIG, self.changes)


def ablation_rows(names: Sequence[str] = ()) -> tuple[AblationRow, ...]:
    """Return the rows with these names, by default all. Raises: UserError for an unknown name."""
    rows = {
        entry["name"]: AblationRow(**entry)
        for entry in tomllib.loads(ROWS.read_text("utf-8"))["rows"]
    }
    for name in names:
        if name not in rows:
            raise UserError(f"unknown row {name!r}; use {', '.join(rows)}")
    return tuple(rows[name] for name in names or rows)


def bank_folder(banks: Path, config: RunConfig) -> Path:
    """Return the folder with the speech of a run; runs with the same speech share it."""
    parts = [name for name in ("ways", "habits") if getattr(config.bank, name)]
    return banks / "-".join(("bank", *parts))


def train(row: AblationRow, start: Path, banks: Path, runs: Path, processes: int) -> None:
    """Render the speech of a row if it is missing, train, and write the model.

    start: weights that all rows begin with.
    """
    from tests.tools.train_recogniser.bank import make_bank
    from tests.tools.train_recogniser.export import export
    from tests.tools.train_recogniser.training import Trainer

    config = row.config
    bank = bank_folder(banks, config)
    make_bank(bank, config.bank, processes)
    if Trainer(config, bank, runs / row.name, start).run():
        export(runs / row.name / "average.pt", runs / f"{row.name}.onnx")


def ablation_table(results: Path) -> list[str]:
    """Return the lines of a Markdown table: whole items correct in percent for each row and cell.

    results: a folder for each row that was measured; other rows, and cells that none has, are left
    out.
    """
    found = {row.title: read_results(results / row.name) for row in ablation_rows()}
    cells = [cell for cell in CELLS if any(cell in rows for rows in found.values())]
    heads = [
        f"{cell.test_set} {cell.condition} "
        f"{'clean' if cell.snr_db is None else f'{cell.snr_db:+g} dB'}"
        for cell in cells
    ]
    lines = [f"| recipe | {' | '.join(heads)} |", "|---|" + "---|" * len(heads)]
    for title, rows in found.items():
        if rows:
            shares = [f"{100 * share_right(rows[c]):.0f}" if c in rows else "" for c in cells]
            lines.append(f"| {title} | {' | '.join(shares)} |")
    return lines


def main() -> int:
    """Run a subcommand; return the exit code."""
    parser = argparse.ArgumentParser(prog="ablations", description=__doc__)
    commands = parser.add_subparsers(dest="command", required=True)
    runs = commands.add_parser("train", help="train the rows one after the other")
    runs.add_argument("start", type=Path)
    runs.add_argument("banks", type=Path)
    runs.add_argument("runs", type=Path)
    runs.add_argument("--rows", nargs="+", default=[], metavar="NAME")
    runs.add_argument("--processes", type=int, default=os.cpu_count())
    table = commands.add_parser("table", help="print the results as Markdown")
    table.add_argument("results", type=Path)
    table.add_argument(
        "--into", help="Markdown file with the marks <!-- ablations --> and <!-- /ablations -->"
    )
    arguments = parser.parse_args()
    logging.basicConfig(level=logging.INFO, format="%(asctime)s %(message)s", stream=sys.stdout)
    try:
        if arguments.command == "table":
            write_table(arguments.into, "ablations", ablation_table(arguments.results))
        else:
            for row in ablation_rows(arguments.rows):
                train(
                    row, arguments.start, arguments.banks, arguments.runs, arguments.processes
                )  # fmt: skip
    except FaintcallError as error:
        print(f"ablations: {error}", file=sys.stderr)
        return 2
    return 0


if __name__ == "__main__":
    sys.exit(main())
