"""Command line: python -m tests.tools.voice_gate [--into FILE] [--tuning] [-v] [OPERATOR ...]."""

import argparse
import sys
from pathlib import Path

from tqdm import tqdm

from drill.core.errors import FaintcallError
from drill.core.paths import cache_folder
from drill.voices.operators import find_operators
from drill.voices.people.roster import ENGINE_GROUPS, group_members
from tests.tools.tables import write_table
from tests.tools.voice_gate.calls import CALLS, TABLE_SEED, TUNING_SEED
from tests.tools.voice_gate.table import table_lines
from tests.tools.voice_gate.work import GateWork


def main() -> int:
    """Measure operators and print the table; return the exit code."""
    parser = argparse.ArgumentParser(prog="python -m tests.tools.voice_gate")
    parser.add_argument("names", nargs="*", metavar="OPERATOR", help="operators or groups")
    parser.add_argument("--into", metavar="FILE", help="replace the table in this file")
    parser.add_argument("--tuning", action="store_true", help="use the calls for tuning")
    parser.add_argument("--quiet-only", action="store_true", help="leave out the noise")
    parser.add_argument("--work", type=Path, metavar="DIR", help="folder of clips and results")
    parser.add_argument("-v", action="store_true", help="list the mistakes")
    options = parser.parse_args()
    work = GateWork(options.work or cache_folder() / "voice-gate")
    try:
        operators = (
            find_operators(options.names)
            if options.names
            else [member for group in ENGINE_GROUPS for member in group_members(group)]
        )
        seed = TUNING_SEED if options.tuning else TABLE_SEED
        progress = tqdm(operators, desc="operators", file=sys.stderr, mininterval=5)
        results = [
            work.measure(operator, calls=CALLS, seed=seed, noise=not options.quiet_only)
            for operator in progress
        ]
        write_table(options.into, "gate", table_lines(results))
    except FaintcallError as error:
        print(f"voice_gate: {error}", file=sys.stderr)
        return 1
    for result in results if options.v else ():
        for name, count in result.counts.items():
            print(f"{result.operator.name}, {name}: {count.mistakes}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
