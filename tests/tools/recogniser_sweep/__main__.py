"""Command line: python -m tests.tools.recogniser_sweep {sets,run,table,compare} ..."""

import argparse
import sys
from contextlib import nullcontext
from pathlib import Path

from drill.core.errors import FaintcallError
from tests.tools.recogniser_sweep.cluster import dask_cluster
from tests.tools.recogniser_sweep.sweep import Cell, run_sweep


def main() -> int:
    """Run a subcommand; return the exit code."""
    parser = argparse.ArgumentParser(prog="recogniser_sweep", description=__doc__)
    commands = parser.add_subparsers(dest="command", required=True)
    sets = commands.add_parser("sets", help="make test sets")
    sets.add_argument("folder", type=Path)
    sets.add_argument("--only", nargs="+", default=None)
    sets.add_argument("--count", type=int, default=200)
    sets.add_argument("--seed", type=int, default=1)
    run = commands.add_parser("run", help="measure")
    run.add_argument("sets", type=Path)
    run.add_argument("results", type=Path)
    run.add_argument("--only", nargs="+", required=True, help="names of sets")
    run.add_argument("--conditions", nargs="+", default=["steady"])
    run.add_argument("--snr", nargs="+", default=["clean", "6", "0", "-3", "-6", "-9"])
    run.add_argument("--model", type=Path, default=None)
    run.add_argument("--count", type=int, default=None)
    run.add_argument("--jobs", type=int, default=1, help="processes, -1 for all")
    run.add_argument("--dask", metavar="CLUSTER", help="a scheduler's address, or local:N")
    table = commands.add_parser("table", help="print results as Markdown")
    table.add_argument("results", type=Path)
    table.add_argument(
        "--into", help="Markdown file with the marks <!-- sweep --> and <!-- /sweep -->"
    )
    compare = commands.add_parser("compare", help="print several models' results as one table")
    compare.add_argument("results", type=Path, nargs="+", help="a folder for each model")
    compare.add_argument(
        "--into", help="Markdown file with the marks <!-- compare --> and <!-- /compare -->"
    )
    arguments = parser.parse_args()
    try:
        return _run(arguments)
    except FaintcallError as error:
        print(f"recogniser_sweep: {error}", file=sys.stderr)
        return 2


def _run(arguments: argparse.Namespace) -> int:
    if arguments.command == "sets":
        from tests.tools.recogniser_sweep.test_sets import known_sets, write_set

        makers = known_sets(arguments.count, arguments.seed)
        for name in arguments.only or makers:
            path = arguments.folder / f"{name}.npz"
            if not path.exists():
                print(name, write_set(makers[name](), path), flush=True)
    elif arguments.command == "run":
        cells = [
            Cell(test_set=name, condition=condition,
                 snr_db=None if snr == "clean" else float(snr))
            for condition in arguments.conditions
            for name in arguments.only
            for snr in arguments.snr
        ]  # fmt: skip
        with dask_cluster(arguments.dask) if arguments.dask else nullcontext():
            run_sweep(
                cells, sets=arguments.sets, results=arguments.results, model=arguments.model,
                count=arguments.count, jobs=-1 if arguments.dask else arguments.jobs,
            )  # fmt: skip
    elif arguments.command == "compare":
        from tests.tools.recogniser_sweep.comparison import comparison_table
        from tests.tools.tables import write_table

        write_table(arguments.into, "compare", comparison_table(arguments.results))
    else:
        from tests.tools.recogniser_sweep.tables import markdown_tables
        from tests.tools.tables import write_table

        write_table(
            arguments.into, "sweep", markdown_tables(arguments.results).rstrip().split("\n")
        )
    return 0


if __name__ == "__main__":
    sys.exit(main())
