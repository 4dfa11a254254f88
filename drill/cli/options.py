"""Options that commands share: what is sent, and under which conditions."""

import argparse
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from drill.plan import Plan


def _snr(text: str) -> float | None:
    if text == "clean":
        return None
    try:
        return float(text)
    except ValueError:
        raise argparse.ArgumentTypeError(
            f"{text!r} is no SNR; give a number of dB, such as -3, or clean"
        ) from None


def _names(text: str) -> tuple[str, ...]:
    return tuple(name.strip() for name in text.split(",") if name.strip())


def add_plan(command: argparse.ArgumentParser) -> None:
    """Add the options that make up a plan."""
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
        help="where the calls come from: world, a region, or unassigned for calls that no "
        "administration can have given out (default: world)",
    )
    said.add_argument(
        "--alternates",
        type=float,
        metavar="SHARE",
        help="share of letters not said in the ITU's word, 0 to 1 (default: as each operator does)",
    )
    said.add_argument(
        "--items", type=int, default=20, metavar="N", help="how many items (default: 20)"
    )
    said.add_argument(
        "--seed", type=int, metavar="N", help="the same seed gives the same items (default: new)"
    )
    heard = command.add_argument_group("how it is heard")
    heard.add_argument(
        "--snr",
        type=_snr,
        default=0.0,
        metavar="DB",
        help="active speech level against noise in 3 kHz, or clean (default: 0)",
    )
    heard.add_argument(
        "--fading",
        default="steady",
        metavar="NAME",
        help="fading preset; `faintcall choices` lists them (default: steady)",
    )
    heard.add_argument(
        "--pace",
        type=float,
        default=1.0,
        metavar="X",
        help="speaking rate, 0.6 slow to 1.8 quick (default: 1)",
    )
    heard.add_argument(
        "--voices",
        type=_names,
        default=(),
        metavar="A,B",
        help="which operators speak; `faintcall choices` lists them (default: all)",
    )


def plan_from(options: argparse.Namespace) -> "Plan":
    """Return the plan that the options ask for. Raises: UserError."""
    import secrets

    from drill import voices
    from drill.plan import Plan

    # The names are spelt out in the plan, so that it gives the same items when the roster grows.
    speakers = options.voices or tuple(operator.name for operator in voices.usable_operators())
    return Plan(
        seed=secrets.randbelow(1_000_000) if options.seed is None else options.seed,
        count=options.items,
        part=options.part,
        exchange=options.exchange,
        mix=options.mix,
        snr_db=options.snr,
        fading=options.fading,
        pace=options.pace,
        voices=speakers,
        alternates=options.alternates,
    )


Commands = argparse._SubParsersAction  # argparse gives its type no public name
