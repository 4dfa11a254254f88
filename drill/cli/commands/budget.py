"""faintcall budget: what power, antennas and noise make of one path."""

import argparse
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from drill.linkbudget.budget import Circuit

EXAMPLES = """examples:
  faintcall budget --watts 5 --path-snr 12       100 W would give 12 dB there; what do 5 W give?
  faintcall budget --path-s 7 --there rural      100 W would read S7 there
  faintcall budget --frequency 7.1 --wire-length 4 --loss-ohms 15 --line-length 20 --line-loss 3
"""


def add(command: argparse.ArgumentParser) -> None:
    """Add the options of `faintcall budget`."""
    command.description = (
        "Compare what watts, antennas, losses and noise make of an HF path, both ways."
    )
    command.epilog = EXAMPLES

    def number(flag: str, unit: str, default: float | None, sentence: str) -> None:
        ending = "" if default is None else f" (default: {default:g})"
        command.add_argument(
            flag, type=float, metavar=unit, default=default, help=sentence + ending
        )

    number("--watts", "W", 5, "my power, PEP, 0.001 to 2000")
    number("--far-watts", "W", 100, "power of the far station, PEP")
    number("--frequency", "MHZ", 14.2, "0.3 to 30 MHz")
    path = command.add_mutually_exclusive_group()
    path.add_argument(
        "--path-snr",
        type=float,
        metavar="DB",
        default=10.0,
        help="the path: SNR in 3 kHz that 100 W, unprocessed, with reference antennas and no "
        "losses would give at the far end (default: 10)",
    )
    path.add_argument(
        "--path-s",
        metavar="S",
        help="the path: S reading that 100 W would give at the far end, such as 7 or 9+10",
    )
    number("--antenna", "DB", 0, "my antenna's pattern against the reference antenna")
    number("--far-antenna", "DB", 0, "the same of the far antenna")
    number("--short", "DB", None, "what my shortened antenna turns into heat (default: 0)")
    number("--wire-length", "M", None, "instead of --short: height of my short vertical wire")
    number("--loss-ohms", "OHM", 10, "loss in ground and coil, with --wire-length")
    number("--line", "DB", None, "what my feed line loses (default: 0)")
    number("--line-length", "M", None, "instead of --line: its length, with --line-loss")
    number("--line-loss", "DB", None, "loss of 100 m of that line at the frequency")
    places = "city, residential, rural or quiet-rural"
    for flag, where, default in (
        ("--here", "here", "quiet-rural"),
        ("--there", "there", "residential"),
    ):
        command.add_argument(
            flag,
            metavar="PLACE",
            default=default,
            help=f"man-made noise {where}: {places} (default: {default})",
        )
    number(
        "--atmospheric",
        "DB",
        None,
        "atmospheric noise at both ends, dB over k T0 b (default: none)",
    )


def run(options: argparse.Namespace) -> int:
    """Print the tables. Raises: UserError."""
    circuit = circuit_from(options)
    print_directions(circuit)
    print_ladder(circuit)
    print_losses(circuit)
    return 0


def circuit_from(options: argparse.Namespace) -> "Circuit":
    """Return the circuit that the options describe. Raises: UserError."""
    from drill.linkbudget.budget import Circuit, Station, path_snr_from_s

    there = Station(
        watts=options.far_watts,
        antenna_db=options.far_antenna,
        category=options.there,
        atmospheric_db=options.atmospheric,
    )
    here = Station(
        watts=options.watts,
        antenna_db=options.antenna,
        short_db=_short_db(options),
        line_db=_line_db(options),
        category=options.here,
        atmospheric_db=options.atmospheric,
    )
    return Circuit(
        here=here,
        there=there,
        frequency_mhz=options.frequency,
        path_snr_db=options.path_snr
        if options.path_s is None
        else path_snr_from_s(options.path_s, there, options.frequency),
    )


def _short_db(options: argparse.Namespace) -> float:
    from drill.core.errors import UserError
    from drill.linkbudget.budget import radiation_ohm, shortening_db

    if options.wire_length is None:
        return options.short or 0.0
    if options.short is not None:
        raise UserError("--short and --wire-length say the same thing; give one of them")
    return shortening_db(radiation_ohm(options.wire_length, options.frequency), options.loss_ohms)


def _line_db(options: argparse.Namespace) -> float:
    from drill.core.errors import UserError
    from drill.linkbudget.budget import line_db

    measures = (options.line_length, options.line_loss)
    if measures == (None, None):
        return options.line or 0.0
    if None in measures or options.line is not None:
        raise UserError("give the line as --line, or as --line-length together with --line-loss")
    return line_db(*measures)


def _line(row: "Sequence[str]", width: int) -> str:
    first, watts, snr, density, steady, fading = row
    return f"{first:{width}}  {watts:>8}  {snr:>11}  {density:>6}  {steady:21}  {fading}"


def _head(first: str, width: int) -> str:
    head = (first, "watts", "SNR 3 kHz", "dB-Hz", "F.339 grade, steady", "F.339 grade, fading")
    return _line(head, width)


def print_directions(circuit: "Circuit") -> None:
    """Print one line a direction."""
    from drill.linkbudget.budget import GRADES, PEP_OVER_SPEECH_DB
    from drill.linkbudget.describe import directions

    print(
        f"Path: {circuit.frequency_mhz:g} MHz; 100 W with reference antennas and no losses give "
        f"{circuit.path_snr_db:+.1f} dB there."
    )
    print(f"Noise: {circuit.here.category} here, {circuit.there.category} there.\n")
    print(_head("direction", 17))
    for row in directions(circuit).rows:
        print(_line(row, 17))
    audio = ", ".join(f"{snr:g}" for _, snr, *_ in GRADES)
    print(
        "\nSNR: active speech level against noise in 3 kHz, in dB. dB-Hz: PEP against noise in\n"
        f"1 Hz, the PEP {PEP_OVER_SPEECH_DB:g} dB over the speech (unprocessed). F.339 grades "
        "by dB-Hz,\nwith PEP nearer to the speech: generous here. By SNR in 3 kHz it asks for "
        f"{audio} dB."
    )


def print_ladder(circuit: "Circuit") -> None:
    """Print what other powers would give at the far end."""
    from drill.linkbudget.describe import ladder

    print("\nMy signal there with other powers, all else the same:")
    print(_head(" re 100 W", 9))
    for row in ladder(circuit).rows:
        print(_line((f"{row[0]:>9}", *row[1:]), 9))


def print_losses(circuit: "Circuit") -> None:
    """Print where losses go, and what the figures are not."""
    from drill.linkbudget.budget import reception_cost_db

    here = circuit.here
    print(
        f"\nHere: antenna {here.antenna_db:+.1f} dB both ways. Lost in transmission: shortening "
        f"{here.short_db:.1f} dB, line {here.line_db:.1f} dB.\nLost in reception: "
        f"{reception_cost_db(here, circuit.frequency_mhz):.1f} dB of SNR, since noise from outside "
        "is lost along with the signal."
    )
    print(
        "\nThis plans no actual circuit: it compares assumptions. Power and operation are subject\n"
        "to your licence and to local rules."
    )
