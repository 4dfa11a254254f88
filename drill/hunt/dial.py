"""The dial of the receiver and its earlier positions. Times are ear times in samples."""

from bisect import bisect_right


class Dial:
    """The dial; `moves` lists time and frequency in Hz of each position, the first at time 0."""

    def __init__(self, hz: float) -> None:
        """Start at a frequency."""
        self.moves: list[tuple[int, float]] = [(0, hz)]

    @property
    def hz(self) -> float:
        """Present frequency."""
        return self.moves[-1][1]

    def turn(self, at: int, hz: float) -> None:
        """Turn the dial; at: not before the last move."""
        self.moves.append((at, hz))

    def at(self, time: int) -> float:
        """Return the frequency at a time; before the start, that of the start."""
        return self.moves[max(0, self._count(time) - 1)][1]

    def positions(self, start: int, stop: int) -> set[float]:
        """Return the frequencies on which the dial was between two times."""
        first = max(0, self._count(start) - 1)
        return {hz for _, hz in self.moves[first : self._count(stop)]} or {self.at(start)}

    def _count(self, time: int) -> int:
        return bisect_right(self.moves, time, key=lambda move: move[0])
