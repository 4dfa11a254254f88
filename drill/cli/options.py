"""Options that several commands share: the words, the operators and the radio conditions."""

import argparse
from collections.abc import Collection

from drill.items.plan import Plan
from drill.session.options import (
    DEFAULT_PATH_SNR_DB,
    ComparedOption,
    SessionOptions,
    plan_from_options,
)

DEFAULTS = SessionOptions()
OPTION_OF_FIELD = {
    "snr_db": "snr",
    "no_noise": "snr",
    "path_snr_db": "path_snr",
    "off_frequency_hz": "off_frequency",
    "static_db": "static",
    "count": "items",
    "until_db": "until",
}
"""Options whose name differs from their field in SessionOptions."""


def flag_for_field(field: str, options: Collection[str]) -> str:
    """Return the flag of the option that an error's field belongs to, "" if there is none.

    options: names of the parsed options, as in `vars(namespace)`.
    """
    option = OPTION_OF_FIELD.get(field, field)
    return f"--{option.replace('_', '-')}" if option in options else ""


def _snr(text: str) -> tuple[float | None]:
    """Return the SNR in a tuple, None for "clean"; None alone means that no SNR was given."""
    if text == "clean":
        return (None,)
    try:
        return (float(text),)
    except ValueError:
        raise argparse.ArgumentTypeError(
            f"SNR {text!r} is not valid; give a number of dB, such as -3, or clean"
        ) from None


def comma_separated(text: str) -> tuple[str, ...]:
    """Return the names in a list such as "a, b"."""
    return tuple(name.strip() for name in text.split(",") if name.strip())


def add_plan_options(command: argparse.ArgumentParser, *, items: int = 20) -> None:
    """Add the options that `session_options_from` reads.

    items: the default number of items for the help text; the command applies it. 1 means a command
    with one item and no such option.
    """
    _add_message_options(command.add_argument_group("what is said"))
    if items > 1:
        command.add_argument(
            "--items", type=int, metavar="N", help=f"number of items (default: {items})"
        )
    else:
        command.set_defaults(items=items)
    conditions = command.add_argument_group("how it sounds")
    add_condition_options(conditions)
    add_voice_options(conditions)
    # Defaults for options that only some commands have, so that session_options_from serves all.
    command.set_defaults(until=None, what=None, values=())


def _add_message_options(group: argparse._ArgumentGroup) -> None:
    group.add_argument(
        "--part",
        default=DEFAULTS.part,
        metavar="WHAT",
        help="call, exchange, or over for both in one over (default: call)",
    )
    add_exchange_option(group, DEFAULTS.exchange, DEFAULTS.exchange)
    add_call_mix_options(group)
    add_seed_option(group, "items")


def add_own_call_option(group: argparse._ActionsContainer) -> None:
    """Add the option of the trainee's own call."""
    group.add_argument("--call", metavar="CALL", help="your own call (default: the last one given)")


def add_exchange_option(
    group: argparse._ActionsContainer, default: str | None, default_text: str
) -> None:
    """Add the option of the exchange. default_text: what the help says about the default."""
    group.add_argument(
        "--exchange",
        default=default,
        metavar="NAME",
        help=f"name of the exchange; `faintcall choices` lists them (default: {default_text})",
    )


def add_seed_option(group: argparse._ActionsContainer, things: str) -> None:
    """Add the option of the seed. things: what follows from it, in the plural."""
    group.add_argument(
        "--seed",
        type=int,
        metavar="N",
        help=f"the same seed gives the same {things} (default: new)",
    )


def add_call_mix_options(group: argparse._ActionsContainer) -> None:
    """Add the options for the calls: where they come from and how they are spelt."""
    group.add_argument(
        "--mix",
        default=DEFAULTS.mix,
        metavar="NAME",
        help="where the calls come from: world, a region, unassigned for calls that no "
        "administration can have assigned, or a mix made by `faintcall learn-mix` "
        "(default: world)",
    )
    group.add_argument(
        "--alternates",
        type=float,
        metavar="SHARE",
        help="share of letters not spelt with the ITU's word, 0 to 1 (default: the habit of each "
        "operator)",
    )


def add_voice_options(group: argparse._ActionsContainer) -> None:
    """Add the options of who speaks and how fast."""
    group.add_argument(
        "--pace",
        type=float,
        default=DEFAULTS.pace,
        metavar="X",
        help="speaking rate, 0.6 (slow) to 1.8 (fast) (default: 1)",
    )
    group.add_argument(
        "--voices",
        type=comma_separated,
        default=DEFAULTS.voices,
        metavar="A,B",
        help="operators or groups of operators that speak; `faintcall choices` lists them "
        "(default: natural; sessions add studio if this computer is quick enough)",
    )


def add_condition_options(group: argparse._ArgumentGroup) -> None:
    """Add the options of the radio conditions."""
    add_preset_option(group, ", which the options below modify")
    _add_snr_options(group)
    add_reception_options(group)
    group.add_argument(
        "--processing",
        metavar="KIND",
        help="speech processing of the far station: none, compressed or clipped",
    )
    group.add_argument(
        "--off-frequency", type=float, metavar="HZ", help="mistuning of the far station"
    )


def add_reception_options(group: argparse._ActionsContainer) -> None:
    """Add the options of the path's fading, the receiver's filter and the noise."""
    group.add_argument(
        "--fading",
        metavar="NAME",
        help="fading preset, or delay in ms and Doppler spread in Hz, such as 1.5/0.7",
    )
    group.add_argument(
        "--filter",
        metavar="NAME",
        help="receiver preset, or width and shift of its filter in Hz, such as 1800+200",
    )
    group.add_argument(
        "--static",
        type=float,
        metavar="VD",
        help="atmospheric static with this Vd in dB, 1.05 to 12",
    )


def add_preset_option(group: argparse._ActionsContainer, note: str = "") -> None:
    """Add the option of the conditions preset. note: added to its help."""
    group.add_argument(
        "--conditions",
        default=DEFAULTS.conditions,
        metavar="NAME",
        help=f"conditions preset{note}; `faintcall choices` lists them (default: plain)",
    )


def add_path_snr_option(
    group: argparse._ActionsContainer, default: float | None, help_text: str
) -> None:
    """Add the option of the path's SNR at 100 W. help_text: without the default."""
    group.add_argument(
        "--path-snr",
        type=float,
        default=default,
        metavar="DB",
        help=f"{help_text} (default: {DEFAULT_PATH_SNR_DB:g})",
    )


def _add_snr_options(group: argparse._ArgumentGroup) -> None:
    group.add_argument(
        "--snr",
        type=_snr,
        metavar="DB",
        help="active speech level over noise in 3 kHz, or clean (default: that of the preset)",
    )
    group.add_argument(
        "--watts",
        type=float,
        metavar="W",
        help="power of the far station, instead of the SNR, on the path that --path-snr describes",
    )
    add_path_snr_option(group, None, "with --watts: the SNR at 100 W")


def session_options_from(options: argparse.Namespace) -> SessionOptions:
    """Return the session options from the parsed command line."""
    return SessionOptions(
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
        until_db=options.until,
        compare=options.what and ComparedOption(option=options.what, values=tuple(options.values)),
    )


def plan_from(options: argparse.Namespace) -> Plan:
    """Return the plan from the parsed command line. Raises: UserError, NoVoice."""
    return plan_from_options(session_options_from(options))
