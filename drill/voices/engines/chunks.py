"""How an over is cut for a model that takes only so many symbols."""

from collections.abc import Callable, Sequence

from phonetics.message import Word

LONGEST = 400  # symbols that a model takes at once, as the package of the natural voice keeps it
Piece = list[tuple[Word, str]]


def pieces(words: Sequence[Word], read: Callable[[str], str]) -> list[Piece]:
    """Return words with their phonemes, cut (at a pause if there is one) at the model's limit."""
    found: list[Piece] = [[]]
    length = 0
    for word in words:
        spoken = read(word.say)
        found[-1].append((word, spoken))
        length += len(spoken) + 2
        if length > LONGEST - 20 or (length > LONGEST // 2 and word.pause):
            found.append([])
            length = 0
    return [piece for piece in found if piece]


def text_of(piece: Piece) -> tuple[str, list[tuple[str, int, int]]]:
    """Return the symbols of a piece, and of each word its text, first symbol and the one after."""
    text, bounds = "", []
    for word, spoken in piece:
        bounds.append((word.say, len(text), len(text) + len(spoken)))
        text += spoken + word.pause + " "
    text = text.rstrip()
    return (text if text[-1] in ",." else text + "."), bounds
