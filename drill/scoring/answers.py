"""An answer held against what was sent.

Conventions
-----------
* Case and spaces never matter. Fields are typed in one line, in the order of the message; where the
  spaces do not tell them apart, the cut is the one that makes most fields right.
* A call is right only character for character. Other fields are right by value: "07", "7" and "0 7"
  are one zone. Letters and digits are never taken for each other.
* "?" stands for a character that was heard but not made out; it is wrong but keeps its place.
* An over is logged right only if the call and every field are right.
* Points: 100 x share of fields right, less a fifth of what is left for each time heard again.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from drill.core.models import Answer, FieldScore, Pair
from phonetics.exchanges import KINDS
from phonetics.message import Field

MISSING = 0.9
EXTRA = 1.1
UNKNOWN = 0.5
# A wrong character costs 1 in the alignment, these less: they are mixed up by eye or by ear, and so
# rather stand in one place than as one missing and one extra. Common practice, no source.
CLOSE = {frozenset(pair): cost for pair, cost in {"O0": 0.3, "I1": 0.3, "59": 0.5}.items()}
LOOK_ALIKE = {("0", "O"), ("O", "0"), ("1", "I"), ("I", "1")}
LONGEST = 120
"""Characters of an answer that are read; no over needs more."""
REPLAY_SHARE = 0.8


def _cost(sent: str, copied: str) -> float:
    if sent == copied:
        return 0.0
    if copied == "?":
        return UNKNOWN
    return CLOSE.get(frozenset((sent, copied)), 1.0)


def _table(sent: str, copied: str) -> list[list[float]]:
    """Return the Needleman-Wunsch table: cost of aligning every beginning with every beginning."""
    rows = [[j * EXTRA for j in range(len(copied) + 1)]]
    for i, a in enumerate(sent, 1):
        above, row = rows[-1], [i * MISSING]
        for j, b in enumerate(copied, 1):
            row.append(min(above[j - 1] + _cost(a, b), above[j] + MISSING, row[j - 1] + EXTRA))
        rows.append(row)
    return rows


def align(sent: str, copied: str) -> tuple[Pair, ...]:
    """Return the cheapest alignment as columns; ties go to a pair first, then to a missing one.

    Source: S. Needleman and C. Wunsch, J. Mol. Biol. 48 (1970), 443-453.
    """
    table = _table(sent, copied)
    i, j = len(sent), len(copied)
    columns: list[Pair] = []
    while i or j:
        here = table[i][j]
        if i and j and abs(here - table[i - 1][j - 1] - _cost(sent[i - 1], copied[j - 1])) < 1e-9:
            i, j = i - 1, j - 1
            columns.append(Pair(sent=sent[i], typed=copied[j]))
        elif i and abs(here - table[i - 1][j] - MISSING) < 1e-9:
            i -= 1
            columns.append(Pair(sent=sent[i], typed=""))
        else:
            j -= 1
            columns.append(Pair(sent="", typed=copied[j]))
    return tuple(reversed(columns))


def is_right(field: Field, text: str) -> bool:
    """Return True where the text gives the field's value, or may be left out and is."""
    if not text.strip():
        return bool(field.optional_if) and field.optional_if == field.text
    value = KINDS[field.kind].value
    sent = value(field.text)
    return sent is not None and value(text) == sent


def _squeeze(text: str) -> str:
    """Return the text in upper case without white space or separators."""
    return "".join(c for c in text.upper() if not c.isspace() and c not in ",;")


@dataclass(frozen=True, slots=True)
class _Line:
    """A typed line: its characters without spaces, and the positions that follow a space."""

    characters: str
    breaks: frozenset[int]

    @classmethod
    def read(cls, text: str) -> "_Line":
        parts = text.upper()[:LONGEST].replace(",", " ").replace(";", " ").split()
        breaks, at = {0}, 0
        for part in parts:
            at += len(part)
            breaks.add(at)
        return cls("".join(parts), frozenset(breaks))

    def piece(self, start: int, end: int) -> str:
        """Return a stretch with its spaces put back."""
        cuts = [start, *sorted(b for b in self.breaks if start < b < end), end]
        return " ".join(self.characters[a:b] for a, b in pairwise(cuts))


def _cut(fields: Sequence[Field], line: _Line) -> list[str]:
    """Return one piece of the line for each field: most fields right, then the best alignment.

    A dynamic programme over the ends of the pieces: best[j] is the cost of giving the first j
    characters to the fields so far, and the ends chosen for it.
    """
    total = len(line.characters)
    wrong_field = 1000.0  # outweighs any alignment
    split_word = 0.25  # a cut inside a typed word only where it gains something
    best: dict[int, tuple[float, tuple[int, ...]]] = {0: (0.0, ())}
    for number, field in enumerate(fields, 1):
        ends: dict[int, tuple[float, tuple[int, ...]]] = {}
        sent = _squeeze(field.text)
        for start, (cost, cuts) in best.items():
            costs = _table(sent, line.characters[start:])[-1]
            last = number == len(fields)
            for end in [total] if last else range(start, total + 1):
                here = cost + costs[end - start]
                here += 0.0 if end in line.breaks else split_word
                if is_right(field, line.piece(start, end)):
                    here -= costs[end - start]
                else:
                    here += wrong_field
                if end not in ends or here < ends[end][0] - 1e-9:
                    ends[end] = (here, (*cuts, end))
        best = ends
    cuts = (0, *best[total][1])
    return [line.piece(a, b) for a, b in pairwise(cuts)]


def _hint(pairs: Sequence[Pair], sent: str, copied: str) -> str:
    for pair in pairs:
        if (pair.sent, pair.typed) in LOOK_ALIKE:
            kinds = ("digit", "letter") if pair.sent.isdigit() else ("letter", "digit")
            return f"the {kinds[0]} {pair.sent} was sent, the {kinds[1]} {pair.typed} was typed"
    differ = [i for i, (a, b) in enumerate(zip(sent, copied, strict=False)) if a != b]
    if len(sent) == len(copied) and len(differ) == 2 and differ[1] == differ[0] + 1:
        i = differ[0]
        if sent[i : i + 2] == copied[i + 1] + copied[i]:
            return f"{sent[i]} and {sent[i + 1]} are the wrong way round"
    return ""


def score(fields: Sequence[Field], text: str, *, gave_up: bool = False) -> tuple[FieldScore, ...]:
    """Return the score of a typed line, a FieldScore for each field, in order.

    Any text is scored; LONGEST characters of it are read. gave_up: nothing is right then, a field
    that may be left out neither.
    """
    scores = []
    for field, piece in zip(fields, _cut(fields, _Line.read(text)), strict=True):
        sent, copied = _squeeze(field.text), _squeeze(piece)
        pairs = align(sent, copied)
        right = not gave_up and is_right(field, piece)
        scores.append(
            FieldScore(
                name=field.name,
                sent=field.text,
                typed=piece,
                pairs=pairs,
                right=right,
                hint="" if right else _hint(pairs, sent, copied),
            )
        )
    return tuple(scores)


def points(scores: Sequence[FieldScore], answer: Answer) -> float:
    """Return the points of one over, 0 to 100; each replay takes a fifth of what is left."""
    if not scores:
        return 0.0
    share = sum(s.right for s in scores) / len(scores)
    return 100.0 * share * REPLAY_SHARE**answer.replays


def characters(scores: Sequence[FieldScore]) -> tuple[int, int]:
    """Return the characters right and the characters sent; a field that is right counts whole."""
    sent = sum(len(_squeeze(s.sent)) for s in scores)
    right = sum(
        len(_squeeze(s.sent)) if s.right else sum(p.sent == p.typed for p in s.pairs)
        for s in scores
    )
    return right, sent
