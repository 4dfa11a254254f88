"""How well the recognisers understand people, as a table.

Run by hand, with the Debian packages installed:
python -m tests.outside.human_recordings_table [--into tests/measured/human_recordings.md]
"""

import argparse
from collections.abc import Iterator

from drill.recogniser import find_recogniser
from tests.outside.human_recordings import recognise_all
from tests.tools.tables import write_table

RECOGNISERS = ("own", "pocketsphinx")


def table_lines() -> Iterator[str]:
    """Yield the table of all installed recordings line by line."""
    yield "| recogniser | recording | package | words | correct | unsure | task |"
    yield "|---|---|---|---|---|---|---|"
    for name in RECOGNISERS:
        for result in recognise_all(find_recogniser(name)):
            accuracy = f"{100 * result.accuracy:.0f} %"
            yield (
                f"| `{name}` | {result.name} | {result.package} | {result.words} | {accuracy} "
                f"| {result.unsure} | {result.task} |"
            )


def main() -> None:
    """Print the table, and write it into a file if one is given."""
    parser = argparse.ArgumentParser(prog="python -m tests.outside.human_recordings_table")
    parser.add_argument("--into", metavar="FILE", help="replace the table in this file")
    write_table(parser.parse_args().into, "people", list(table_lines()))


if __name__ == "__main__":
    main()
