"""Call sign series, their holders, and the places to which calls belong.

A series is a range of three-character prefixes ("AAA" to "ALZ"). A place is a country or a part of
it, identified by prefix and digit, with its zones and a few Maidenhead squares. Sources: series
from ITU Radio Regulations Appendix 42, see data/SOURCES.md; places, zones, squares and activity
weights are common practice, no source.
"""

from bisect import bisect_right
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files
from string import ascii_uppercase, digits

REGIONS = ("Europe", "North America", "South America", "Africa", "Asia", "Oceania")

# Letters that identify a nationality by themselves: RR 19.50.1 and 19.68 (which omits the 2).
SINGLE_LETTERS = "BFGIKMNRW"

HALF_SERIES = ("3D", "SS")  # series with two holders each: Appendix 42

_ORDER = ascii_uppercase + digits


@dataclass(frozen=True, kw_only=True, slots=True)
class Series:
    """One row of Appendix 42: the first and the last prefix of the series, and its holder."""

    first: str
    last: str
    holder: str


@dataclass(frozen=True, kw_only=True, slots=True)
class Place:
    """A place with stations: their prefixes and digits, its zones and its activity.

    weight: activity relative to other places. prefixes, digits, suffixes (lengths): the ones in
    use; an entry that occurs twice is drawn twice as often. itu_zone: 1 to 90. amateur_zone: 1 to
    40. squares: some of its Maidenhead squares.
    """

    region: str
    weight: float
    prefixes: tuple[str, ...]
    digits: str
    suffixes: tuple[int, ...]
    itu_zone: int
    amateur_zone: int
    squares: tuple[str, ...]

    @property
    def holder(self) -> str:
        """The holder of the place's series in Appendix 42."""
        return holder_of(self.prefixes[0])


def _rows(name: str) -> list[list[str]]:
    text = files("phonetics").joinpath("data", name).read_text(encoding="utf-8")
    return [line.split("\t") for line in text.splitlines()[1:] if line]


def _rank(three: str) -> tuple[int, ...]:
    return tuple(_ORDER.index(character) for character in three)


@lru_cache(maxsize=1)
def callsign_series() -> tuple[Series, ...]:
    """Return the rows of Appendix 42, letters before digits."""
    rows = (
        Series(first=first, last=last, holder=holder)
        for first, last, holder in _rows("appendix42.tsv")
    )
    return tuple(sorted(rows, key=lambda row: _rank(row.first)))


@lru_cache(maxsize=1)
def _starts() -> list[tuple[int, ...]]:
    return [_rank(row.first) for row in callsign_series()]


@lru_cache(maxsize=1)
def holders() -> tuple[str, ...]:
    """Return the names of the holders as written in Appendix 42, sorted."""
    return tuple(sorted({row.holder for row in callsign_series()}))


def _holder_of_three(three: str) -> str:
    index = bisect_right(_starts(), _rank(three)) - 1
    inside = index >= 0 and _rank(three) <= _rank(callsign_series()[index].last)
    return callsign_series()[index].holder if inside else ""


@lru_cache(maxsize=4096)
def holder_of(prefix: str) -> str:
    """Return the holder of all series that begin with a prefix of 1 to 3 characters, "" if none.

    Shared prefixes, such as 3D or SS, and unallocated ones have no holder. A single character means
    that character followed by any letter (RR 19.50.1).
    """
    if not 1 <= len(prefix) <= 3 or any(character not in _ORDER for character in prefix):
        return ""
    middles = ascii_uppercase if len(prefix) == 1 else ("",)
    ends = ("A", "Z") if len(prefix) < 3 else ("",)
    owners = {_holder_of_three(prefix + middle + end) for middle in middles for end in ends}
    return owners.pop() if len(owners) == 1 else ""


@lru_cache(maxsize=256)
def prefixes_of(holder: str) -> tuple[str, ...]:
    """Return every prefix that a holder may use: two characters, or three of a half series.

    A single-letter nationality with a digit (F2) is left out, because it can be read in two ways.
    """
    pairs = [a + b for a in _ORDER for b in _ORDER if not (a in SINGLE_LETTERS and b in digits)]
    halves = [half + third for half in HALF_SERIES for third in ascii_uppercase]
    return tuple(prefix for prefix in pairs + halves if holder_of(prefix) == holder)


@lru_cache(maxsize=1)
def places() -> tuple[Place, ...]:
    """Return all places for which calls are composed."""
    return tuple(_place(row) for row in _rows("places.tsv"))


def _place(row: list[str]) -> Place:
    region, weight, prefixes, figures, suffixes, itu, amateur, squares = row
    return Place(
        region=region,
        weight=float(weight),
        prefixes=tuple(prefixes.split()),
        digits=figures,
        suffixes=tuple(int(length) for length in suffixes),
        itu_zone=int(itu),
        amateur_zone=int(amateur),
        squares=tuple(squares.split()),
    )


@lru_cache(maxsize=1)
def _by_prefix() -> dict[tuple[str, str], Place]:
    return {
        (prefix, digit): place
        for place in reversed(places())
        for prefix in place.prefixes
        for digit in place.digits
    }


@lru_cache(maxsize=4096)
def _likeliest(holder: str, digit: str) -> Place | None:
    """Return the busiest place of a holder, preferring those that use the digit."""
    held = [place for place in places() if holder and place.holder == holder]
    return max(held, key=lambda place: (digit in place.digits, place.weight), default=None)


def place_of(prefix: str, digit: str) -> Place:
    """Return the place of calls with this prefix and digit; digit may be "".

    A prefix that is not listed with the digit belongs to its holder's busiest place that uses the
    digit, or else to its busiest place. An unallocated prefix always gets the same arbitrary place,
    so that its station has a zone to send.
    """
    exact = _by_prefix().get((prefix, digit))
    if exact is not None:
        return exact
    likeliest = _likeliest(holder_of(prefix), digit)
    if likeliest is not None:
        return likeliest
    index: int = sum(_ORDER.index(c) * 37**i for i, c in enumerate(prefix))
    return places()[index % len(places())]
