"""Independent random generators of one seed, one for each use.

Each stage of an item has its own stream, so changing the SNR or the voice leaves the fading as it
was, and adding a stage leaves the other stages as they were.
"""

import zlib

import numpy as np


def random_stream(seed: int, use: str) -> np.random.Generator:
    """Return the generator of an item's seed for a named use; same arguments, same numbers."""
    return np.random.Generator(np.random.SFC64([seed, zlib.crc32(use.encode())]))
