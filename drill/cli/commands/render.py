"""faintcall render: write a set of items as sound files."""

import argparse
import sys
from pathlib import Path

from tqdm import tqdm

from drill.cli.options import add_plan_options, plan_from
from drill.core.counting import plural
from drill.core.errors import UserError
from drill.itemsets.write import MANIFEST_FILE, SHEET_FILE, stored_seed, write_item_set

_EPILOG = """examples:
  faintcall render --items 200 --seed 7 --snr -3 --to DIR
  faintcall render --part over --exchange area --items 30 --format wav --to club-evening

The folder gets item-0001.flac and so on, manifest.jsonl (one line of JSON per item: what was sent,
the times of the words, and everything needed to render it again) and sheet.html (a page to write on
and the solutions, for printing). To continue an interrupted run, give the same command again.
"""


def add(command: argparse.ArgumentParser) -> None:
    """Add the options of `faintcall render`."""
    command.description = "Write a set of items as sound files with a manifest and an answer sheet."
    command.epilog = _EPILOG
    command.add_argument(
        "--to", type=Path, required=True, metavar="DIR", help="the folder to write to"
    )
    command.add_argument(
        "--format", default="flac", metavar="NAME", help="flac or wav (default: flac)"
    )
    command.add_argument(
        "--workers",
        type=int,
        default=0,
        metavar="N",
        help="number of processes (default: one per processor core)",
    )
    add_plan_options(command)


def run(options: argparse.Namespace) -> int:
    """Render the set, with a progress bar in a terminal. Raises: UserError, NoVoice."""
    if options.workers < 0:
        raise UserError(
            f"{options.workers} workers are not possible; give 1 or more, or 0 for one per "
            "processor core",
            field="workers",
        )
    if options.seed is None:  # to continue an interrupted run, not to start another set
        options.seed = stored_seed(options.to)
    plan = plan_from(options)
    # disable=None shows the bar in a terminal only.
    with tqdm(total=plan.count, unit="item", disable=None, file=sys.stderr) as bar:
        for finished in write_item_set(
            plan, options.to, format_name=options.format, workers=options.workers
        ):
            bar.update(finished - bar.n)
    print(
        f"{plural(plan.count, 'item')}, {MANIFEST_FILE} and {SHEET_FILE} are in {options.to}; seed "
        f"{plan.seed}. Never put practice audio on the air."
    )
    return 0
