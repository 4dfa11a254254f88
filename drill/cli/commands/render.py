"""faintcall render: write a set of items as sound files."""

import argparse
import sys
from pathlib import Path

from tqdm import tqdm

from drill.cli.options import add_plan_options, plan_from
from drill.core.counting import plural
from drill.core.errors import UserError
from drill.core.validation import within
from drill.itemsets.read import read_item_set
from drill.itemsets.track import DEFAULT_PAUSE_S, PAUSE_LIMITS_S, write_track
from drill.itemsets.write import (
    KEY_FILE,
    MANIFEST_FILE,
    SHEET_FILE,
    stored_seed,
    write_item_set,
)

_EPILOG = """examples:
  faintcall render --items 200 --seed 7 --snr -3 --to DIR
  faintcall render --part over --exchange area --items 30 --track 10 --people 12 --to club-evening
  faintcall copy --set club-evening     type what you copy of a set, here or on other computers

The folder gets item-0001.flac and so on, manifest.jsonl (one line of JSON per item: what was sent,
the times of the words, and everything needed to render it again), sheet.html (to write on) and
key.html (what was sent), both for printing. With --track it also gets track.flac for a room: before
each item a voice says its number, after it there is a pause. To continue an interrupted run, give
the same command again.
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
        "--track",
        type=float,
        nargs="?",
        const=DEFAULT_PAUSE_S,
        metavar="SECONDS",
        help="also write all items as one sound file, with spoken numbers and a pause of SECONDS "
        f"after each item (default: {DEFAULT_PAUSE_S:g})",
    )
    command.add_argument(
        "--people",
        type=int,
        default=1,
        metavar="N",
        help="number of answer sheets in sheet.html (default: 1)",
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
    if options.track is not None:
        within("track", options.track, *PAUSE_LIMITS_S, "s", label="pause")
    if options.seed is None:  # continues an interrupted run instead of starting another set
        options.seed = stored_seed(options.to)
    plan = plan_from(options)
    # disable=None shows the bar in a terminal only.
    with tqdm(total=plan.count, unit="item", disable=None, file=sys.stderr) as bar:
        for finished in write_item_set(
            plan,
            options.to,
            format_name=options.format,
            workers=options.workers,
            people=options.people,
        ):
            bar.update(finished - bar.n)
    files = [plural(plan.count, "item"), MANIFEST_FILE, SHEET_FILE]
    if options.track is not None:
        files.append(_write_track(options))
    print(
        f"{', '.join(files)} and {KEY_FILE} are in {options.to}; seed {plan.seed}. "
        "Never put practice audio on the air."
    )
    return 0


def _write_track(options: argparse.Namespace) -> str:
    """Write the track of the finished set, with a progress bar, and return its name."""
    items = read_item_set(options.to)
    name = f"track.{options.format}"
    with tqdm(total=items.plan.count, unit="item", desc=name, disable=None, file=sys.stderr) as bar:
        for finished in write_track(
            items.plan, items.entries, options.to / name, pause_s=options.track
        ):
            bar.update(finished - bar.n)
    return name
