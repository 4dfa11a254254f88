"""Independent random generators of one seed, one for each use.

Each stage of an item has its own stream, so that another SNR or voice leaves the fading unchanged,
and a new stage changes nothing in the existing ones.
"""

import zlib

import numpy as np


def random_stream(seed: int, use: str) -> np.random.Generator:
    """Return the generator of an item's seed for a named use; same arguments, same numbers."""
    return np.random.Generator(np.random.SFC64([seed, zlib.crc32(use.encode())]))
