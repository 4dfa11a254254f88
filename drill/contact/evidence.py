"""The characters of a call or an exchange after several attempts to copy it.

Each position collects votes, one for every attempt in which a character was heard there. The
character with the most votes is held; a tie is doubt, which counts as a gap and makes the operator
ask again. Attempts are aligned with the held characters by dynamic programming, so that a missing
or an additional character does not shift the others.

Source of the method: J. Fiscus, A post-processing system to yield reduced word error rates (ROVER),
IEEE ASRU 1997. The costs are this project's own.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache
from itertools import combinations, pairwise

from drill.contact.overs import MISSED

AGREE, RIVAL, OPEN, CONTRADICT = 1.0, 0.6, 0.4, -0.9
"""Scores of a heard character: equal to the one held, a rival with fewer votes, in a gap,
different."""
GAP_IN_GAP, GAP_ON_HELD = 0.3, 0.1
"""Scores of a character that was not made out: at a gap, and at a held character."""
SKIP, EXTRA, SKIP_HELD = -0.8, -0.8, -0.05
"""Scores of a position that a try leaves out, of a character that has no position, and of a held
position that a try for the missing part leaves out."""

FILLS_GAPS, HAS_FORM, SCATTERED = 1.0, 0.8, 0.2
"""Scores of a place for a part: it fills exactly the gaps; what is held then has the right form; a
cost for each interruption."""

SHORTEST_WHOLE_CALL = 4
"""With fewer positions than this, the held characters count as a part of a call."""

Characters = tuple[str, ...]
Votes = tuple[tuple[str, int], ...]
"""Characters with their votes; "" means no character at this position."""
Pairing = tuple[int | None, int | None]
"""Position in the evidence and in the attempt; None if one side has nothing there."""


@dataclass(frozen=True)
class Evidence:
    """Votes for the characters of a call or an exchange, position by position."""

    positions: tuple[Votes, ...] = ()

    @cached_property
    def leaders(self) -> tuple[str | None, ...]:
        """The character with the most votes at every position, as _leading returns it."""
        return tuple(map(_leading, self.positions))

    @cached_property
    def held(self) -> tuple[str, ...]:
        """The held characters, MISSED where nothing is held or two characters have equal votes."""
        return tuple(character for character in self.leaders if character is not None)

    @property
    def text(self) -> str:
        """The held characters as one text."""
        return "".join(self.held)

    @cached_property
    def gaps(self) -> int:
        """Number of positions without a held character."""
        return self.held.count(MISSED)

    @property
    def is_whole(self) -> bool:
        """True if something is held and no character is missing or in doubt."""
        return bool(self.held) and not self.gaps

    @property
    def copied(self) -> int:
        """Number of held characters."""
        return len(self.held) - self.gaps

    def add(self, heard: Sequence[str], votes: int = 1) -> "Evidence":
        """Return the evidence after another attempt. heard: characters or MISSED. votes: from 1."""
        if not heard:
            return self
        if not self.copied:  # the number of positions without votes may also be wrong
            return Evidence(tuple(_voted((), character, votes) for character in heard))
        partial = is_part(self, heard)
        tries = max((sum(n for _, n in position) for position in self.positions), default=0)
        positions: list[Votes] = []
        for place, index in _align(self, heard, partial=partial):
            if place is None:
                assert index is not None
                if heard[index] != MISSED and not partial:
                    # Earlier attempts heard nothing here, unless they caught only a part.
                    before: Votes = () if self._is_fragment_of(heard) else (("", tries),)
                    positions.append(((heard[index], votes), *before))
            elif index is None:
                held = self.positions[place]
                positions.append(held if partial else _voted(held, "", votes))
            else:
                positions.append(_voted(self.positions[place], heard[index], votes))
        return Evidence(tuple(positions))

    def add_part(
        self, tries: Sequence[Sequence[str]], votes: int, has_form: Callable[[Characters], bool]
    ) -> "Evidence":
        """Return the evidence with attempts to copy the same part.

        All attempts have the same length, at most that of the evidence. The part is put at the
        place with the best score; a place scores higher if it fills all gaps, and if `has_form`
        accepts the result.
        """
        length, places = len(tries[0]), range(len(self.positions))
        merged = Evidence()
        for heard in tries:
            merged = merged.add(heard)
        part = merged.held if len(merged.held) == length else tuple(tries[0])
        gaps = [
            place for place, character in enumerate(self.held_by_position) if character == MISSED
        ]

        def score(chosen: tuple[int, ...]) -> float:
            pairs = zip(chosen, part, strict=True)
            total = sum(_score(self.positions[place], character) for place, character in pairs)
            fills = list(chosen) == gaps
            formed = has_form(self._voted_at(chosen, [part], 1).held)
            return total + FILLS_GAPS * fills + HAS_FORM * formed - _spread(chosen)

        best = max(combinations(places, length), key=score)
        return self._voted_at(best, tries, votes)

    def _voted_at(
        self, places: Sequence[int], tries: Sequence[Sequence[str]], votes: int
    ) -> "Evidence":
        positions = list(self.positions)
        for heard in tries:
            for place, character in zip(places, heard, strict=True):
                positions[place] = _voted(positions[place], character, votes)
        return Evidence(tuple(positions))

    @property
    def held_by_position(self) -> tuple[str, ...]:
        """The held character of every position, "" for none, MISSED for a gap or doubt."""
        return tuple(leader or "" for leader in self.leaders)

    def compare(self, heard: Sequence[str]) -> tuple[int, int]:
        """Return how many heard characters agree with the held ones, and how many contradict."""
        agreeing = contradicting = 0
        held = self.leaders
        for place, index in _align(self, heard, partial=is_part(self, heard)):
            if index is None or heard[index] == MISSED:
                continue
            if place is None:
                contradicting += not self._is_fragment_of(heard)
            elif held[place] == heard[index]:
                agreeing += 1
            elif held[place] not in (MISSED, None):
                contradicting += 1
        return agreeing, contradicting

    def _is_fragment_of(self, heard: Sequence[str]) -> bool:
        """Return whether too few characters are held for a longer attempt to contradict them."""
        return len(self.positions) < SHORTEST_WHOLE_CALL <= len(heard)

    def unmatched(self, heard: Sequence[str]) -> tuple[int, ...]:
        """Return the positions for which a text gives no character; heard: as in `add`."""
        pairs = _align(self, heard, partial=False)
        return tuple(
            place
            for place, index in pairs
            if place is not None and (index is None or heard[index] == MISSED)
        )

    def fits(self, heard: Sequence[str]) -> bool:
        """Return whether an attempt seems to come from the station being worked.

        It must not contradict more held characters than it agrees with. An attempt that does
        neither, because it contains only missing characters, also fits.
        """
        agreeing, contradicting = self.compare(heard)
        return not contradicting or 0 < contradicting <= agreeing


def shared_characters(first: Sequence[str], second: Sequence[str]) -> int:
    """Return how many characters two attempts share: the most that can agree, at little cost."""
    return sum(min(first.count(c), second.count(c)) for c in set(first) if c != MISSED)


def _spread(places: Sequence[int]) -> float:
    """Return the cost of a part that is not in one piece."""
    return SCATTERED * sum(b - a > 1 for a, b in pairwise(places))


def is_part(evidence: Evidence, heard: Sequence[str]) -> bool:
    """Return whether an attempt is too short to be the whole of what is held."""
    return len(heard) < len(evidence.held) - 1 or len(heard) <= len(evidence.held) / 2


@lru_cache(maxsize=4096)
def _leading(votes: Votes) -> str | None:
    """Return the character with the most votes: MISSED for none or a tie, None for no character."""
    ranked = sorted(votes, key=lambda entry: -entry[1])
    if not ranked or (len(ranked) > 1 and ranked[0][1] == ranked[1][1]):
        return MISSED
    return ranked[0][0] or None


def _voted(votes: Votes, character: str, count: int) -> Votes:
    if character == MISSED:
        return votes
    tally = dict(votes)
    tally[character] = tally.get(character, 0) + count
    return tuple(tally.items())


@lru_cache(maxsize=8192)
def _score(votes: Votes, character: str) -> float:
    known = dict(votes)
    if character == MISSED:
        return GAP_ON_HELD if _leading(votes) != MISSED else GAP_IN_GAP
    if not known:
        return OPEN
    if character in known:
        return AGREE if _leading(votes) == character else RIVAL
    return CONTRADICT


def _align(evidence: Evidence, heard: Sequence[str], *, partial: bool) -> list[Pairing]:
    """Return the best alignment of an attempt with the positions, by Needleman and Wunsch.

    partial: omitting held characters, or positions before or after the attempt, costs almost
    nothing.
    """
    rows, columns = len(evidence.positions), len(heard)
    scores = [[_score(votes, c) for c in heard] for votes in evidence.positions]
    outside = SKIP_HELD if partial else SKIP
    inside = [outside if leader != MISSED else SKIP for leader in evidence.leaders]
    table = [[column * EXTRA for column in range(columns + 1)]]
    for row in range(rows):
        above, row_scores = table[-1], scores[row]
        last = above[0] + outside
        line = [last]
        for column in range(columns):
            paired = above[column] + row_scores[column]
            skip = inside[row] if column + 1 < columns else outside
            last = max(paired, above[column + 1] + skip, last + EXTRA)
            line.append(last)
        table.append(line)
    pairs: list[Pairing] = []
    row, column = rows, columns
    while row or column:
        here = table[row][column]
        if row and column:
            paired = table[row - 1][column - 1] + scores[row - 1][column - 1]
            if abs(here - paired) < 1e-9:
                row, column = row - 1, column - 1
                pairs.append((row, column))
                continue
        skip = inside[row - 1] if row and 0 < column < columns else outside
        if row and abs(here - table[row - 1][column] - skip) < 1e-9:
            row -= 1
            pairs.append((row, None))
        else:
            column -= 1
            pairs.append((None, column))
    return pairs[::-1]
