"""Random numbers as a function of their index, so that a long process can start at any index.

A NumPy generator reaches its n-th normal number only by drawing all before it. Here the numbers
come in blocks, each with a generator of its own, so skipping any number of them takes constant
time.
"""

import numpy as np

from drill.core.arrays import FloatArray

BLOCK = 512
"""Numbers per generator; making a generator takes as long as drawing 1,000 numbers."""


class IndexedRandom:
    """Standard normal numbers in order, with a skip; a replacement for numpy.random.Generator.

    It has only the methods that fading needs. key: words of 32 bits, for example a seed and a
    number for the use; equal keys give equal numbers.
    """

    def __init__(self, *key: int) -> None:
        """Start at the first number."""
        # NumPy ignores zeros at the end of a seed; the length in front keeps such keys different.
        self._key = (len(key), *key)
        self._index = 0
        self._block_number = -1
        self._block: FloatArray = np.zeros(0)

    def spawn(self, count: int) -> "list[IndexedRandom]":
        """Return independent streams."""
        return [IndexedRandom(*self._key[1:], number) for number in range(count)]

    def random(self) -> float:
        """Return a uniform random number from 0 to 1; each call returns the same number."""
        return float(np.random.Generator(np.random.SFC64([*self._key, 0])).random())

    def skip(self, count: int) -> None:
        """Skip the next numbers."""
        self._index += count

    def standard_normal(self, count: int) -> FloatArray:
        """Return the next numbers, shape (count,)."""
        start, stop = self._index, self._index + count
        self._index = stop
        first = start // BLOCK
        blocks = [self._numbers(number) for number in range(first, -(-stop // BLOCK))]
        numbers = np.concatenate(blocks) if blocks else np.zeros(0)
        return numbers[start - first * BLOCK : stop - first * BLOCK]

    def _numbers(self, block_number: int) -> FloatArray:
        """Return the numbers of one block."""
        if block_number != self._block_number:
            seeds = [*self._key, 1, block_number]
            self._block = np.random.Generator(np.random.SFC64(seeds)).standard_normal(BLOCK)
            self._block_number = block_number
        return self._block
