"""Call signs composed at random, from a mix of places weighted by their activity.

Source of the form of a call: ITU Radio Regulations Article 19. How often each prefix, suffix length
and ending is heard: common practice, no source.
"""

from functools import lru_cache
from random import Random
from string import ascii_uppercase
from typing import Protocol

from phonetics.callsigns import UNALLOCATED_PREFIXES, Callsign, forbidden_suffix_reason
from phonetics.series import REGIONS, Place, place_of, places, prefixes_of

FICTION_NOTICE = "fictional, composed at random; any likeness to a licensed station is coincidental"

UNASSIGNED = "unassigned"
CALLSIGN_MIXES: tuple[str, ...] = (
    "world",
    *(region.lower().replace(" ", "-") for region in REGIONS),
    UNASSIGNED,
)


class CallsignMix(Protocol):
    """A mix outside CALLSIGN_MIXES, such as a learned one; it draws calls without strokes."""

    def draw(self, rng: Random) -> "Callsign":
        """Return a call composed at random."""
        ...


RARE_PREFIX_SHARE = 0.05
"""Share of calls with any prefix of the holder instead of a common one; an invented value."""

STROKE_ENDINGS: tuple[tuple[str, int], ...] = (("P", 70), ("M", 20), ("MM", 6), ("A", 4))


def compose_callsign(
    rng: Random, *, mix: str | CallsignMix = "world", strokes: float = 0.04
) -> Callsign:
    """Return a fictional call composed at random.

    mix: one of CALLSIGN_MIXES, whose places are drawn by their activity, or a mix object. strokes:
    share of calls with a stroke, 0 to 1.

    Raises: ValueError for an unknown mix, or strokes outside 0 to 1.
    """
    if isinstance(mix, str) and mix not in CALLSIGN_MIXES:
        raise ValueError(f"mix {mix!r} is unknown; use one of {', '.join(CALLSIGN_MIXES)}")
    if not 0.0 <= strokes <= 1.0:
        raise ValueError(f"strokes {strokes} is not a share from 0 to 1")
    if not isinstance(mix, str):
        call, mix = mix.draw(rng), "world"
    else:
        call = (
            _unassigned(rng)
            if mix == UNASSIGNED
            else compose_callsign_at(rng, draw_place(rng, mix))
        )
    return _with_stroke(rng, call, mix) if rng.random() < strokes else call


@lru_cache(maxsize=8)
def _mix(mix: str) -> tuple[tuple[Place, ...], tuple[float, ...]]:
    chosen = tuple(
        place
        for place in places()
        if mix in ("world", UNASSIGNED) or place.region.lower().replace(" ", "-") == mix
    )
    return chosen, tuple(place.weight for place in chosen)


def draw_place(rng: Random, mix: str) -> Place:
    """Return a place of one of CALLSIGN_MIXES, drawn by its activity."""
    chosen, weights = _mix(mix)
    return rng.choices(chosen, weights)[0]


@lru_cache(maxsize=512)
def rare_prefixes(place: Place) -> tuple[str, ...]:
    """Return the prefixes besides the common ones that calls of a place can have.

    They belong to the place's holder and have, with each of the place's digits, the region and the
    zones of the place. Prefixes that another place uses, such as those of a dependent territory,
    are left out. If none remain, the common prefixes are returned.
    """
    taken = {
        prefix
        for other in places()
        if other is not place and other.holder == place.holder
        for prefix in other.prefixes
    }
    rare = tuple(
        prefix
        for prefix in prefixes_of(place.holder)
        if prefix not in taken
        and all(_is_alike(place_of(prefix, digit), place) for digit in place.digits)
    )
    return rare or place.prefixes


def _is_alike(first: Place, second: Place) -> bool:
    """Return whether two places have the same region and zones."""
    return (first.region, first.itu_zone, first.amateur_zone) == (
        second.region,
        second.itu_zone,
        second.amateur_zone,
    )


def compose_callsign_at(rng: Random, place: Place) -> Callsign:
    """Return a call of a place, composed at random, without a stroke."""
    rare = rng.random() < RARE_PREFIX_SHARE
    prefix = rng.choice(rare_prefixes(place) if rare else place.prefixes)
    # Calls with a single-letter prefix and a single-letter suffix are for special events (common
    # practice, no source).
    lengths = [length for length in place.suffixes if length + len(prefix) > 2]
    length = rng.choice(lengths or [2])
    return Callsign(prefix=prefix, digit=rng.choice(place.digits), suffix=draw_suffix(rng, length))


def draw_suffix(rng: Random, length: int) -> str:
    """Return random letters that Nos. 19.47 and 19.48 allow as a suffix."""
    while True:
        suffix = "".join(rng.choices(ascii_uppercase, k=length))
        if not forbidden_suffix_reason(suffix):
            return suffix


def _unassigned(rng: Random) -> Callsign:
    digit = rng.choice("0123456789")
    if rng.random() < 0.75:
        length = rng.choices((1, 2, 3), (1, 4, 5))[0]
        return Callsign(
            prefix=rng.choice(UNALLOCATED_PREFIXES), digit=digit, suffix=draw_suffix(rng, length)
        )
    place = draw_place(rng, "world")
    suffix = "Q" + rng.choice("RSTU") + rng.choice(ascii_uppercase)
    return Callsign(
        prefix=rng.choice(place.prefixes), digit=rng.choice(place.digits), suffix=suffix
    )


def _with_stroke(rng: Random, call: Callsign, mix: str) -> Callsign:
    before, after = "", ""
    if rng.random() < 0.7:
        after = rng.choices(
            [end for end, _ in STROKE_ENDINGS], [weight for _, weight in STROKE_ENDINGS]
        )[0]
    elif mix == UNASSIGNED:
        before = rng.choice(UNALLOCATED_PREFIXES)
    else:
        place = draw_place(rng, mix)
        before = rng.choice(place.prefixes)
        # A three-character prefix (3DA) is not used before a stroke.
        if len(before) > 2 or place.holder == call.holder:
            before, after = "", "P"
        elif place_of(before, "") != place:
            before += rng.choice(place.digits)
    return Callsign(
        prefix=call.prefix, digit=call.digit, suffix=call.suffix, before=before, after=after
    )
