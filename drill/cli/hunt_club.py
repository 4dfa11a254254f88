"""The comparison of hunts on the same band in the terminal."""

from collections.abc import Sequence
from pathlib import Path

from drill.cli.tables import print_blocks
from drill.cli.wrapping import print_text
from drill.hunt.club import club_passages, read_club


def print_club(paths: Sequence[Path]) -> None:
    """Print the hunts of several exported files side by side.

    Raises: UserError for a file that cannot be used.
    """
    passages = club_passages(read_club(paths))
    if not passages:
        print_text(
            "No two of these files have a hunt on the same band. Hunt with the same seed, bands, "
            "length and exchange, then export."
        )
    print_blocks(passages)
