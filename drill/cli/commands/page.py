"""faintcall page: the drills in a browser; what `faintcall` alone does too."""

import argparse

from drill.cli.options import Commands

EXAMPLES = """examples:
  faintcall                            the same
  faintcall page --no-browser          print the address only
  faintcall page --port 8123
"""


def add_page(command: argparse.ArgumentParser) -> None:
    """Add the options; what is not given keeps what an outer parser has."""
    command.add_argument(
        "--port",
        type=int,
        metavar="N",
        default=argparse.SUPPRESS,
        help="where the page is served (default: 7388, or a free one)",
    )
    command.add_argument(
        "--no-browser",
        dest="browser",
        action="store_false",
        default=argparse.SUPPRESS,
        help="print the address and open nothing",
    )


def add(commands: "Commands[argparse.ArgumentParser]") -> None:
    """Add the command."""
    command = commands.add_parser(
        "page",
        help="open the page: all drills by keyboard and ear in a browser",
        description="Serve the page to this machine alone and open it in the browser.",
        epilog=EXAMPLES,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    add_page(command)
    command.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Serve until Ctrl-C. Raises: UserError, NoPort."""
    from drill.web.server import serve

    serve(port=options.port, browser=options.browser)
    return 0
