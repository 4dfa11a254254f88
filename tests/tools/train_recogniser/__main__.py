"""Command line: python -m tests.tools.train_recogniser {bank,train,average,export} ..."""

import argparse
import json
import logging
import math
import os
import sys
from pathlib import Path

from drill.core.errors import FaintcallError
from tests.tools.train_recogniser.config import RunConfig, read_config

HERE = Path(__file__).parent


def main() -> int:
    """Run a subcommand; return the exit code."""
    parser = argparse.ArgumentParser(prog="train_recogniser", description=__doc__)
    parser.add_argument("--config", type=Path, default=HERE / "default.toml")
    parser.add_argument("--set", action="append", default=[], metavar="SECTION.KEY=VALUE",
                        help="use another value than the configuration's, in JSON")  # fmt: skip
    commands = parser.add_subparsers(dest="command", required=True)
    bank = commands.add_parser("bank", help="render the speech")
    bank.add_argument("bank", type=Path)
    bank.add_argument("--engines", nargs="+", default=[])
    bank.add_argument("--processes", type=int, default=os.cpu_count())
    train = commands.add_parser("train", help="train, or continue training")
    train.add_argument("bank", type=Path)
    train.add_argument("run", type=Path, help="folder of checkpoints")
    train.add_argument("--limit-s", type=float, default=math.inf, help="stop after this time")
    train.add_argument(
        "--finish-in-s", type=float, help="end the run, and the learning rate, by the clock"
    )
    train.add_argument("--start-from", type=Path, help="average.pt of an earlier run")
    average = commands.add_parser(
        "average", help="write the mean of runs that began with the same weights"
    )
    average.add_argument("weights", type=Path, nargs="+", help="average.pt of each run")
    average.add_argument("target", type=Path)
    export = commands.add_parser("export", help="write model.onnx")
    export.add_argument("weights", type=Path, help="average.pt of a run")
    export.add_argument("target", type=Path)
    export.add_argument("--float", action="store_true", help="keep the weights in 32 bits")
    arguments = parser.parse_args()
    logging.basicConfig(level=logging.INFO, format="%(asctime)s %(message)s", stream=sys.stdout)
    try:
        changes = dict(_change(text) for text in arguments.set)
        return _run(arguments, read_config(arguments.config, changes))
    except FaintcallError as error:
        print(f"train_recogniser: {error}", file=sys.stderr)
        return 2


def _change(text: str) -> tuple[str, object]:
    key, _, value = text.partition("=")
    return key, json.loads(value)


def _run(arguments: argparse.Namespace, config: RunConfig) -> int:
    if arguments.command == "bank":
        from tests.tools.train_recogniser.bank import make_bank

        make_bank(arguments.bank, config.bank, arguments.processes, arguments.engines)
    elif arguments.command == "train":
        from tests.tools.train_recogniser.training import Trainer

        Trainer(config, arguments.bank, arguments.run, arguments.start_from).run(
            arguments.limit_s, arguments.finish_in_s
        )
    elif arguments.command == "average":
        from tests.tools.train_recogniser.export import write_mean

        write_mean(arguments.weights, arguments.target)
    else:
        from tests.tools.train_recogniser.export import export

        export(arguments.weights, arguments.target, quantised=not arguments.float)
    return 0


if __name__ == "__main__":
    sys.exit(main())
