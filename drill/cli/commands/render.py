"""faintcall render: a set of items as files."""

import argparse
import sys
from pathlib import Path

from drill.cli.options import add_plan_options, plan_from

EXAMPLES = """examples:
  faintcall render --items 200 --seed 7 --snr -3 --to DIR
  faintcall render --part over --exchange area --items 30 --format wav --to club-evening

The folder gets item-0001.flac and so on, manifest.jsonl (one line of JSON an item, with the truth,
the times of the words and all that is needed to render it again) and sheet.html (a page to write
on and the key, for printing). A run that was stopped goes on when the same command is given again.
"""


def add(command: argparse.ArgumentParser) -> None:
    """Add the options of `faintcall render`."""
    command.description = "Write a set of items as sound files with a manifest and an answer sheet."
    command.epilog = EXAMPLES
    command.add_argument("--to", type=Path, required=True, metavar="DIR", help="the folder")
    command.add_argument(
        "--format", default="flac", metavar="KIND", help="flac or wav (default: flac)"
    )
    command.add_argument(
        "--workers", type=int, default=0, metavar="N", help="processes (default: one a core)"
    )
    add_plan_options(command)


def run(options: argparse.Namespace) -> int:
    """Render the set, with a progress bar where there is a terminal."""
    from tqdm import tqdm

    from drill.core.errors import UserError
    from drill.itemsets.write import MANIFEST_FILE, SHEET_FILE, write_item_set

    if options.workers < 0:
        raise UserError(f"{options.workers} workers cannot be; give 0 for one a core, or more")
    plan = plan_from(options)
    # disable=None: no bar where the output is no terminal
    with tqdm(total=plan.count, unit="item", disable=None, file=sys.stderr) as bar:
        for ready in write_item_set(plan, options.to, format_name=options.format, workers=options.workers):
            bar.update(ready - bar.n)
    print(
        f"{plan.count} items, {MANIFEST_FILE} and {SHEET_FILE} are in {options.to}; seed {plan.seed}. "
        "Never put practice audio on the air."
    )
    return 0
