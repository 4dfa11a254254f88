"""Independent generators of chance from one seed, one for each use.

Each stage of an item has its own stream, so that another SNR or another voice leaves the fading as
it was, and a new stage changes nothing in the old ones.
"""

import zlib

import numpy as np


def stream(seed: int, use: str) -> np.random.Generator:
    """Return the generator of an item's seed for one named use; same arguments, same numbers."""
    return np.random.Generator(np.random.SFC64([seed, zlib.crc32(use.encode())]))
