"""Print the main table of speed: python -m tests.bench [--against FOLDER] [--items N] [--rows N]

Every figure is CPU time and stands beside a reference of the same run, since computers and their
load differ: compare ratios, never times of two runs. With --against, whole commands also run in
another checkout, in turns; make one with: git archive 0.2.0 | tar -x -C FOLDER

The commands need about four minutes of CPU time with 200 items and 50,000 rows, and twice that with
another checkout.
"""

import argparse
import os
from collections.abc import Iterator
from pathlib import Path
from statistics import median
from tempfile import TemporaryDirectory

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # one thread, as the command line sets it

from drill.records.rows import attempt_rows
from drill.records.store import Store
from drill.records.writing import write_attempts
from tests.bench.bench_report import fill_record
from tests.bench.commands import ROOT, Checkout, import_s, make_checkout, report_s, set_s, start_s
from tests.bench.parts import measures

STARTS = 7


def command_times(
    trees: list[Checkout], scratch: Path, items: int, rows: int
) -> Iterator[tuple[str, list[float]]]:
    """Yield the name of a command with its CPU time in seconds in each checkout."""
    for engine, operator in (("formant", "tin"), ("natural", "boulder")):
        starts = [[start_s(tree, scratch, operator) for tree in trees] for _ in range(STARTS)]
        medians = [median(times) for times in zip(*starts, strict=True)]
        yield f"cold start to sound, {engine}", medians
    yield f"set of {items} items", [set_s(tree, scratch, items) for tree in trees]
    record, export = scratch / "record.sqlite3", scratch / "all.jsonl"
    fill_record(record, rows)
    with Store(record) as store:
        write_attempts(export, "jsonl", attempt_rows(store))
    imports = [import_s(tree, scratch, export) for tree in trees]
    yield f"import of {rows} attempts", [seconds for seconds, _ in imports]
    homes = [home for _, home in imports]
    yield (
        f"report of {rows} attempts",
        [report_s(tree, home) for tree, home in zip(trees, homes, strict=True)],
    )


def print_commands(against: Path | None, scratch: Path, items: int, rows: int) -> None:
    """Print the commands with their ratio to the other checkout."""
    folders = [ROOT, *([against.resolve()] if against else [])]
    trees = [make_checkout(folder, scratch) for folder in folders]
    print(f"{'command':32} {'CPU s':>8} {'other, CPU s':>14} {'ratio':>7}")
    for name, (own_s, *other_s) in command_times(trees, scratch, items, rows):
        compared = "".join(f" {seconds:14.2f} {own_s / seconds:7.2f}" for seconds in other_s)
        print(f"{name:32} {own_s:8.2f}{compared}", flush=True)


def print_parts() -> None:
    """Print the parts beside their references."""
    print(f"\n{'part':32} {'CPU ms':>8} {'reference, ms':>14} {'ratio':>7}")
    for part in measures():
        print(
            f"{part.name:32} {part.ms:8.1f} {part.reference_ms:14.1f} "
            f"{part.ms / part.reference_ms:7.4f}  {part.reference}",
            flush=True,
        )


def main() -> None:
    """Print both tables."""
    assert __doc__
    parser = argparse.ArgumentParser(prog="python -m tests.bench", description=__doc__)
    parser.add_argument("--against", type=Path, metavar="FOLDER", help="another checkout")
    parser.add_argument("--items", type=int, default=200, help="items of the set")
    parser.add_argument("--rows", type=int, default=50_000, help="attempts of import and report")
    options = parser.parse_args()
    with TemporaryDirectory(ignore_cleanup_errors=True) as folder:
        os.environ["FAINTCALL_HOME"] = folder
        print_commands(options.against, Path(folder), options.items, options.rows)
        print_parts()


if __name__ == "__main__":
    main()
