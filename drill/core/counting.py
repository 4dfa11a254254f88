"""Counted nouns in sentences."""


def plural(count: int, noun: str) -> str:
    """Return a count with its noun, such as "1 item" or "2 items"; the plural adds an s."""
    return f"{count} {noun}{'' if count == 1 else 's'}"
