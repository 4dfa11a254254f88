"""Write a table of results into a Markdown file, between two mark lines."""

from collections.abc import Sequence
from pathlib import Path

from drill.core.errors import UserError


def write_table(file: str | None, mark: str, lines: Sequence[str]) -> None:
    """Print the lines; if a file is given, also put them between its marks.

    The marks are the lines "<!-- MARK -->" and "<!-- /MARK -->"; the text around them stays.
    Raises: UserError if the file cannot be read or has no such marks.
    """
    print("\n".join(lines))
    if file is None:
        return
    path = Path(file)
    begin, end = f"<!-- {mark} -->\n", f"<!-- /{mark} -->"
    try:
        text = path.read_text("utf-8")
    except OSError as error:
        raise UserError(f"{file} cannot be read: {error.strerror}") from None
    before, begin_found, rest = text.partition(begin)
    _, end_found, after = rest.partition(end)
    if not begin_found or not end_found:
        raise UserError(f"{file} lacks the lines <!-- {mark} --> and <!-- /{mark} -->; add them")
    path.write_text(before + begin + "\n".join(lines) + "\n" + end + after, "utf-8")
