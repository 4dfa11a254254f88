"""faintcall budget: calculate the SNR at both ends of a path from power, antennas and noise."""

import argparse
import textwrap

from drill.cli.tables import print_table
from drill.linkbudget.describe import describe_budget
from drill.linkbudget.form import (
    FORM_NUMBERS,
    NOISE_PLACES,
    S_READING_FIELD,
    FormNumber,
    circuit_from_form,
)
from drill.linkbudget.noise_levels import NOISE_CATEGORIES

EXAMPLES = """examples:
  faintcall budget --watts 5 --path-snr 12       100 W would give 12 dB there; and 5 W?
  faintcall budget --path-s 7 --there rural      100 W would read S7 there
  faintcall budget --frequency 7.1 --wire-length 4 --loss-ohms 15 --line-length 20 --line-loss 3
"""
LINE_WIDTH = 96


def add(command: argparse.ArgumentParser) -> None:
    """Add the options of `faintcall budget`, one for each field of the form."""
    command.description = (
        "Calculate the SNR at both ends of an HF path from power, antennas, losses and noise."
    )
    command.epilog = EXAMPLES
    for name, number in FORM_NUMBERS.items():
        command.add_argument(
            _option(name),
            type=float,
            metavar=number.unit.upper(),
            help=_number_help(number),
        )
    command.add_argument(
        _option(S_READING_FIELD),
        metavar="S",
        help="instead of --path-snr: S reading at the far end from 100 W, such as 7 or 9+10",
    )
    for name, default in NOISE_PLACES.items():
        command.add_argument(
            _option(name),
            metavar="PLACE",
            help=f"man-made noise {name}: {', '.join(NOISE_CATEGORIES)} (default: {default})",
        )


def _option(field: str) -> str:
    return f"--{field.replace('_', '-')}"


def _number_help(number: FormNumber) -> str:
    default = "" if number.default is None else f"; default: {number.default:g}"
    return f"{number.explanation} ({number.low:g} to {number.high:g}{default})"


def run(options: argparse.Namespace) -> int:
    """Print the link budget. Raises: UserError with the field that is wrong."""
    names = (*FORM_NUMBERS, S_READING_FIELD, *NOISE_PLACES)
    circuit = circuit_from_form({name: getattr(options, name) for name in names})
    description = describe_budget(circuit)
    _print_wrapped(description.summary)
    for table in description.tables:
        print(f"\n{table.caption}:")
        print_table(table)
    for note in description.notes:
        print()
        _print_wrapped(note)
    return 0


def _print_wrapped(text: str) -> None:
    print(textwrap.fill(text, LINE_WIDTH))
