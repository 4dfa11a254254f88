"""A learned mix: how often each prefix occurred in the user's log, without the calls themselves.

A mix holds counts of different stations by prefix, digit and suffix length. Groups with fewer than
5 stations are merged: first over the suffix lengths, then over the holder in a region, then over
the region, then worldwide. Any group that still has fewer than 5 is dropped, so every count
represents at least 5 stations. A filter (drill.callmix.call_filter) prevents the logged calls from
being drawn.

A mix is copied into the plan of every session that uses it, so that the same items can be rendered
after its file has been changed or deleted.
"""

import re
from dataclasses import dataclass
from functools import lru_cache
from random import Random

from drill.callmix.call_filter import MAX_FILL, SALT_BYTES, fill_of, may_contain
from drill.core.errors import UserError
from phonetics.callsign_mixes import (
    CALLSIGN_MIXES,
    UNASSIGNED,
    compose_callsign_at,
    draw_place,
    draw_suffix,
)
from phonetics.callsigns import Callsign, is_valid_callsign
from phonetics.series import Place, place_of, places

MIX_NAME = re.compile(r"[a-z0-9][a-z0-9-]{0,30}")
DRAWS_PER_SHARE = 200
SHARE_DRAWS = 100


@dataclass(frozen=True, kw_only=True, slots=True)
class PrefixShare:
    """The number of different stations of one group.

    A group is a prefix and digit with a suffix length (0: any length that is usual there); or all
    other prefixes of a holder in a region; or those of a region (one of CALLSIGN_MIXES).

    Raises: UserError if no calls can be composed for the group.
    """

    stations: int
    prefix: str = ""
    digit: str = ""
    length: int = 0
    holder: str = ""
    region: str = ""

    def __post_init__(self) -> None:
        """Check that calls can be composed for the group."""
        usable = self.stations > 0 and 0 <= self.length <= 4
        if self.prefix:
            example = self.prefix + self.digit + "A" * max(self.length, 1)
            usable = usable and is_valid_callsign(example)
        else:
            usable = usable and self.region in CALLSIGN_MIXES and self.region != UNASSIGNED
            usable = usable and (not self.holder or bool(places_of(self.holder, self.region)))
        if not usable:
            raise UserError(f"no calls can be composed for {self}", field="shares", kind="unusable")

    def draw(self, rng: Random) -> Callsign:
        """Return a call of this group, composed at random."""
        if self.prefix:
            length = self.length or rng.choice(_usual_lengths(self.prefix, self.digit))
            return Callsign(prefix=self.prefix, digit=self.digit, suffix=draw_suffix(rng, length))
        if self.holder:
            candidates = places_of(self.holder, self.region)
            weights = [place.weight for place in candidates]
            return compose_callsign_at(rng, rng.choices(candidates, weights)[0])
        return compose_callsign_at(rng, draw_place(rng, self.region))


def _usual_lengths(prefix: str, digit: str) -> list[int]:
    lengths = [n for n in place_of(prefix, digit).suffixes if n + len(prefix) > 2]
    return lengths or [2]


@lru_cache(maxsize=512)
def places_of(holder: str, region: str) -> tuple[Place, ...]:
    """Return the places that a holder has in a region."""
    return tuple(
        place
        for place in places()
        if place.holder == holder and mix_of_region(place.region) == region
    )


def mix_of_region(region: str) -> str:
    """Return the built-in mix of a region: "north-america" for "North America"."""
    return region.lower().replace(" ", "-")


@dataclass(frozen=True, kw_only=True, slots=True)
class LearnedMix:
    """A mix learned from a log.

    taken: bits of the filter in hexadecimal, a power of two of bytes. salt: 32 hexadecimal digits.

    Raises: UserError if a part does not have this form.
    """

    name: str
    shares: tuple[PrefixShare, ...]
    salt: str
    taken: str

    def __post_init__(self) -> None:
        """Check the form of every part."""
        try:
            bits, salt = bytes.fromhex(self.taken), bytes.fromhex(self.salt)
        except ValueError:
            raise self._error("taken and salt have to be hexadecimal text") from None
        if not bits or len(bits) & (len(bits) - 1) or len(salt) != SALT_BYTES:
            raise self._error("taken or salt has the wrong length")
        if fill_of(bits) > MAX_FILL:
            raise self._error("the filter excludes nearly all calls")
        if not self.shares or not MIX_NAME.fullmatch(self.name):
            raise self._error("it has no shares or an unusable name")

    def _error(self, reason: str) -> UserError:
        return UserError(
            f"mix {self.name!r}: {reason}; learn it again", field="mix", kind="damaged"
        )

    def is_taken(self, base: str) -> bool:
        """Return True for every call of the log, and for about half of all others."""
        return may_contain(bytes.fromhex(self.taken), bytes.fromhex(self.salt), base)

    def draw(self, rng: Random) -> Callsign:
        """Return a random call that is not in the log, drawn in proportion to the shares.

        Raises: UserError if no such call is found.
        """
        weights = [share.stations for share in self.shares]
        for _ in range(SHARE_DRAWS):
            share = rng.choices(self.shares, weights)[0]
            for _ in range(DRAWS_PER_SHARE):
                call = share.draw(rng)
                if not self.is_taken(call.base):
                    return call
        raise self._error("its filter excludes all calls that were tried")
