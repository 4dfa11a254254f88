"""A filter that recognises the calls of a log without containing them.

It is a Bloom filter with one salted hash and about 50 % false positives: a bit array with about as
many bits as the log has calls. The bit of every logged call is set; so, by chance, are the bits of
about half of all other calls. Someone who has the filter can therefore infer that a call was in the
log with odds of at most 2 to 1, even by testing every possible call. A sharper filter would reveal
the log: with 20 bits per call, nearly all matches in a list of fifty thousand active stations would
be logged calls. The price is that about half of all other calls are never drawn either.
"""

import secrets
from collections.abc import Iterable
from hashlib import blake2b
from math import log, log2

MAX_FILL = 0.8
"""Largest share of bits that may be set; a new salt is drawn until no more are."""
SALT_BYTES = 16


def build_filter(calls: Iterable[str]) -> tuple[bytes, bytes]:
    """Return salt and bit array of a new filter that holds these calls (without strokes)."""
    bases = sorted(set(calls))
    size = 2 ** max(0, int(log2(max(1, len(bases)) / log(2))) - 3)
    while True:
        salt, bits = secrets.token_bytes(SALT_BYTES), bytearray(size)
        for base in bases:
            index = _bit_index(bits, salt, base)
            bits[index >> 3] |= 1 << (index & 7)
        if fill_of(bits) <= MAX_FILL:
            return salt, bytes(bits)


def may_contain(bits: bytes, salt: bytes, call: str) -> bool:
    """Return True for every call in the filter, and for about half of all others."""
    index = _bit_index(bits, salt, call)
    return bool(bits[index >> 3] >> (index & 7) & 1)


def fill_of(bits: bytes | bytearray) -> float:
    """Return the share of bits that are set, 0 to 1."""
    return int.from_bytes(bits, "big").bit_count() / (8 * len(bits))


def _bit_index(bits: bytes | bytearray, salt: bytes, call: str) -> int:
    digest = blake2b(call.encode("ascii"), key=salt, digest_size=8).digest()
    return int.from_bytes(digest, "big") % (8 * len(bits))
