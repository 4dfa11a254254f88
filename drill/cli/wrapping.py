"""Prints sentences in the terminal, with line breaks between words."""

import re
import shutil
import sys
import textwrap
from typing import TextIO

_AFTER_KEY = re.compile(r"(?<=\b\w:) ")
"""The space between a key and what it does; no line breaks there."""
_NO_BREAK = "\u00a0"


def print_text(text: str = "", *, flush: bool = False, stream: TextIO | None = None) -> None:
    """Print text as print() does; stream: None for standard output."""
    target = sys.stdout if stream is None else stream
    print(wrap_text(text, target), file=target, flush=flush)


def wrap_text(text: str, stream: TextIO | None = None) -> str:
    """Return text with lines no longer than the terminal's width; stream: None for standard output.

    Further lines of a line have its indentation. Without a terminal, the text stays as it is, so
    that other programs read whole sentences. Words are never broken.
    """
    target = sys.stdout if stream is None else stream
    if not target.isatty():
        return text
    # One column stays free: some terminals wrap a line that reaches the last one.
    width = max(20, shutil.get_terminal_size().columns - 1)
    return "\n".join(_wrap_line(line, width) for line in text.split("\n"))


def _wrap_line(line: str, width: int) -> str:
    if len(line) <= width:
        return line
    blank = line[: len(line) - len(line.lstrip())]
    filled = textwrap.fill(
        _AFTER_KEY.sub(_NO_BREAK, line.strip()),
        width,
        initial_indent=blank,
        subsequent_indent=blank,
        break_long_words=False,
        break_on_hyphens=False,
    )
    # A prompt keeps the space before what is typed.
    return filled.replace(_NO_BREAK, " ") + (" " if line.endswith(" ") else "")
