"""faintcall page: open the drills in a browser, as `faintcall` alone does."""

import argparse

_EPILOG = """examples:
  faintcall                            the same
  faintcall page --no-browser          print the address only
  faintcall page --port 8123
"""


def add_page_options(command: argparse.ArgumentParser) -> None:
    """Add the options, without defaults: both `faintcall` and `faintcall page` have them.

    With defaults, the parser of `page` would overwrite options given before the word `page`.
    """
    command.add_argument(
        "--port",
        type=int,
        metavar="N",
        default=argparse.SUPPRESS,
        help="port of the web server (default: 7388, or a free one if it is taken)",
    )
    command.add_argument(
        "--no-browser",
        dest="browser",
        action="store_false",
        default=argparse.SUPPRESS,
        help="print the address and do not open a browser",
    )


def add(command: argparse.ArgumentParser) -> None:
    """Add the options of `faintcall page`."""
    command.description = "Serve the page to this computer only and open it in the browser."
    command.epilog = _EPILOG
    add_page_options(command)


def run(options: argparse.Namespace) -> int:
    """Serve the page until Ctrl-C. Raises: UserError, NoFreePort."""
    # The module of `page` is imported for every command line, and the web server is slow to import.
    from drill.web.server import serve

    serve(port=options.port, browser=options.browser)
    return 0
