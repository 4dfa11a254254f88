"""Splits an over into chunks that a model can synthesise at once, and converts them to symbols."""

from collections.abc import Callable, Sequence

from phonetics.message import Word

MAX_SYMBOLS = 400  # limit of hibari-tts (MAX_PHONEMES); the studio voice's model takes 510
Chunk = list[tuple[Word, str]]
"""Consecutive words, each with its phonemes."""


def split_into_chunks(words: Sequence[Word], phonemes_of: Callable[[str], str]) -> list[Chunk]:
    """Return the words with their phonemes, split so that each chunk is short enough.

    phonemes_of: gives the phonemes of a word's text. A chunk ends at the first pause in its second
    half, or at the limit if there is no pause.
    """
    chunks: list[Chunk] = [[]]
    length = 0
    for word in words:
        phonemes = phonemes_of(word.say)
        chunks[-1].append((word, phonemes))
        length += len(phonemes) + 2
        if length > MAX_SYMBOLS - 20 or (length > MAX_SYMBOLS // 2 and word.pause):
            chunks.append([])
            length = 0
    return [chunk for chunk in chunks if chunk]


def symbols_of(chunk: Chunk) -> tuple[str, list[tuple[str, int, int]]]:
    """Return a chunk's symbols, and for each word its text, first symbol and end (exclusive)."""
    symbols, bounds = "", []
    for word, phonemes in chunk:
        bounds.append((word.say, len(symbols), len(symbols) + len(phonemes)))
        symbols += phonemes + word.pause + " "
    symbols = symbols.rstrip()
    return (symbols if symbols[-1] in ",." else symbols + "."), bounds
