"""How well the listener understands people, as a table.

By hand, where Debian's packages are: python -m tests.outside.people_table [--into DEVELOPERS.md]
"""

import argparse
from collections.abc import Iterator

from drill.recogniser import find
from tests.outside.people import tried
from tests.tools.tables import put


def lines() -> Iterator[str]:
    """Give the table of the recordings that are installed, line by line."""
    yield "| recording | package | words | right | unsure | heard |"
    yield "|---|---|---|---|---|---|"
    for one in tried(find()):
        share = f"{100 * (1 - one.wrong / one.said):.0f} %"
        yield f"| {one.name} | {one.package} | {one.said} | {share} | {one.unsure} | {one.how} |"


def main() -> None:
    """Print the table, and put it where it belongs."""
    parser = argparse.ArgumentParser(prog="python -m tests.outside.people_table")
    parser.add_argument("--into", metavar="FILE", help="put the table into this file")
    put(parser.parse_args().into, "people", list(lines()))


if __name__ == "__main__":
    main()
