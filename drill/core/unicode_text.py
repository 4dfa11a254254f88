"""Text from outside, which can be invalid Unicode even in a Python string.

Python reads a byte that does not fit the terminal's encoding as an unpaired surrogate (PEP 383),
which cannot be written to a file or a web page.
"""

import re

_SURROGATE = re.compile("[\ud800-\udfff]")


def replace_surrogates(text: str) -> str:
    """Return text in which U+FFFD, the replacement character, replaces every surrogate.

    Source: Unicode Standard 15.0, section 3.9 (surrogate code points are no scalar values) and
    section 5.22 (U+FFFD for what cannot be converted).
    """
    return text if text.isascii() else _SURROGATE.sub("\N{REPLACEMENT CHARACTER}", text)


def has_surrogates(text: str) -> bool:
    """Return True if a text contains a surrogate, which makes it invalid Unicode."""
    return not text.isascii() and _SURROGATE.search(text) is not None


def printable(text: str) -> str:
    """Return text for a terminal: U+FFFD replaces surrogates and control characters except newline.

    Without this, an escape character could start a command to the terminal.
    """
    return "".join(
        char if char.isprintable() or char == "\n" else "\N{REPLACEMENT CHARACTER}" for char in text
    )
