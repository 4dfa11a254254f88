"""Tables that a command makes for DEVELOPERS.md: printed, or put between their marks."""

from collections.abc import Sequence
from pathlib import Path

from drill.core.errors import UserError


def put(file: str | None, mark: str, lines: Sequence[str]) -> None:
    """Print the lines; where a file is given, put them between its <!-- mark --> lines too.

    Raises: UserError where the file cannot be read or has no such marks.
    """
    print("\n".join(lines))
    if file is None:
        return
    path = Path(file)
    begin, end = f"<!-- {mark} -->\n", f"<!-- /{mark} -->"
    try:
        text = path.read_text("utf-8")
    except OSError as error:
        raise UserError(f"cannot read {file}: {error.strerror}") from None
    before, found, rest = text.partition(begin)
    _, closed, after = rest.partition(end)
    if not found or not closed:
        raise UserError(f"{file} has no lines <!-- {mark} --> and <!-- /{mark} -->")
    path.write_text(before + begin + "\n".join(lines) + "\n" + end + after, "utf-8")
