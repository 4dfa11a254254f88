"""faintcall page: the drills in a browser; what `faintcall` alone does too."""

import argparse

EXAMPLES = """examples:
  faintcall                            the same
  faintcall page --no-browser          print the address only
  faintcall page --port 8123
"""


def add_page_options(command: argparse.ArgumentParser) -> None:
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


def add(command: argparse.ArgumentParser) -> None:
    """Add the options of `faintcall page`."""
    command.description = "Serve the page to this machine alone and open it in the browser."
    command.epilog = EXAMPLES
    add_page_options(command)


def run(options: argparse.Namespace) -> int:
    """Serve until Ctrl-C. Raises: UserError, NoPort."""
    from drill.web.server import serve

    serve(port=options.port, browser=options.browser)
    return 0
