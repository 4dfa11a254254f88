"""Options that commands share: what is sent, and under which conditions."""

import argparse
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from drill.items.plan import Plan
    from drill.session.options import Choices


def _snr(text: str) -> tuple[float | None]:
    """Return the SNR, None for clean, in a tuple; None alone would be an option not given."""
    if text == "clean":
        return (None,)
    try:
        return (float(text),)
    except ValueError:
        raise argparse.ArgumentTypeError(
            f"{text!r} is no SNR; give a number of dB, such as -3, or clean"
        ) from None


def names(text: str) -> tuple[str, ...]:
    """Return names that stand between commas."""
    return tuple(name.strip() for name in text.split(",") if name.strip())


def add_plan(command: argparse.ArgumentParser, *, items: int = 20) -> None:
    """Add the options that make up a plan; items: how many by default, 1 for one and no choice."""
    said = command.add_argument_group("what is said")
    said.add_argument(
        "--part",
        default="call",
        metavar="WHAT",
        help="call, exchange, or over for both in one over (default: call)",
    )
    said.add_argument(
        "--exchange",
        default="serial",
        metavar="NAME",
        help="which exchange; `faintcall choices` lists them (default: serial)",
    )
    said.add_argument(
        "--mix",
        default="world",
        metavar="NAME",
        help="where the calls come from: world, a region, unassigned for calls that no "
        "administration can have given out, or one that `faintcall learn-mix` made "
        "(default: world)",
    )
    said.add_argument(
        "--alternates",
        type=float,
        metavar="SHARE",
        help="share of letters not said in the ITU's word, 0 to 1 (default: as each operator does)",
    )
    if items > 1:
        said.add_argument(
            "--items",
            type=int,
            metavar="N",
            help=f"how many items (default: {items})",
        )
    else:
        command.set_defaults(items=items)
    said.add_argument(
        "--seed", type=int, metavar="N", help="the same seed gives the same items (default: new)"
    )
    heard = command.add_argument_group("how it is heard")
    add_conditions(heard)
    heard.add_argument(
        "--pace",
        type=float,
        default=1.0,
        metavar="X",
        help="speaking rate, 0.6 slow to 1.8 quick (default: 1)",
    )
    heard.add_argument(
        "--voices",
        type=names,
        default=(),
        metavar="A,B",
        help="which operators or groups of them speak; `faintcall choices` lists them "
        "(default: bundled, all that need no more to be installed)",
    )


def add_conditions(heard: argparse._ArgumentGroup) -> None:
    """Add the options that make up the radio conditions."""
    heard.add_argument(
        "--conditions",
        default="plain",
        metavar="NAME",
        help="a whole set of conditions, which the options below change; `faintcall choices` lists "
        "them (default: plain)",
    )
    heard.add_argument(
        "--snr",
        type=_snr,
        metavar="DB",
        help="active speech level against noise in 3 kHz, or clean (default: 0)",
    )
    heard.add_argument(
        "--watts",
        type=float,
        metavar="W",
        help="the station's power in place of the SNR, on a path as --path-snr says",
    )
    heard.add_argument(
        "--path-snr",
        type=float,
        metavar="DB",
        help="with --watts: the SNR that 100 W would give (default: 10)",
    )
    heard.add_argument(
        "--fading",
        metavar="NAME",
        help="fading preset, or delay in ms and Doppler spread in Hz, such as 1.5/0.7",
    )
    heard.add_argument(
        "--filter",
        metavar="NAME",
        help="receiver preset, or width and shift of its filter in Hz, such as 1800+200",
    )
    heard.add_argument(
        "--processing", metavar="KIND", help="of the station's speech: none, compressed or clipped"
    )
    heard.add_argument(
        "--off-frequency", type=float, metavar="HZ", help="how far the station is mistuned"
    )
    heard.add_argument(
        "--static", type=float, metavar="VD", help="atmospheric static of this Vd in dB, 1.05 to 12"
    )


def choices_from(options: argparse.Namespace) -> "Choices":
    """Return what the options ask for."""
    from drill.session.options import Choices

    return Choices(
        part=options.part,
        exchange=options.exchange,
        mix=options.mix,
        alternates=options.alternates,
        count=options.items,
        seed=options.seed,
        conditions=options.conditions,
        snr_db=None if options.snr is None else options.snr[0],
        no_noise=options.snr == (None,),
        watts=options.watts,
        path_snr_db=options.path_snr,
        fading=options.fading,
        filter=options.filter,
        processing=options.processing,
        off_frequency_hz=options.off_frequency,
        static_db=options.static,
        pace=options.pace,
        voices=options.voices,
    )


def plan_from(options: argparse.Namespace) -> "Plan":
    """Return the plan that the options ask for. Raises: UserError."""
    from drill.session.options import plan_of

    return plan_of(choices_from(options))


MEASURED = 60
"""Items of a measuring block."""
COMPARED = 30
"""Items of each thing compared."""
