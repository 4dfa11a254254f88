"""Scores a typed line against the fields that were sent.

* Case and spaces never matter. Fields are typed in one line, in the order of the message. Commas,
  semicolons, and a stroke that cannot belong to a call ("59/14") separate fields like spaces. If
  nothing separates two fields, the line is cut where it makes the most fields right.
* A call is right only if every character is right. Other fields are right by value: "07", "7" and
  "zone 7" are the same zone; see phonetics.field_values. A letter never counts as a digit, or a
  digit as a letter.
* A report that may be left out counts as right if it is left out, provided that another field is
  right; otherwise an empty line would score.
* A "?" marks a character that the trainee could not make out. It is wrong, but keeps the following
  characters aligned.
* An over is logged right only if the call and every field are right.
* Points: 100 times the share of right fields, times 0.8 for each replay.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from drill.core.models import Answer, FieldScore, Pair
from phonetics.field_kinds import FIELD_KINDS
from phonetics.field_values import plain_characters
from phonetics.message import Field

MISSING_COST = 0.9
EXTRA_COST = 1.1
UNKNOWN_COST = 0.5
"""Alignment cost of a "?"; a wrong character costs 1."""
CONFUSABLE_COSTS = {
    frozenset(pair): cost for pair, cost in {"O0": 0.3, "I1": 0.3, "59": 0.5}.items()
}
"""Characters that the eye or ear confuses cost less, so that they align with each other rather than
as one missing and one extra character. Common practice, no source."""
LOOK_ALIKE = {("0", "O"), ("O", "0"), ("1", "I"), ("I", "1")}
MAX_ANSWER_LENGTH = 120
"""Only this many characters of an answer are scored; the longest over has fewer."""
REPLAY_FACTOR = 0.8
LEFT_OUT_HINT = "leaving out the report counts as right only if another field is right"
WRONG_FIELD_COST = 1000.0
"""Greater than any alignment cost, so that a cut with more right fields always wins."""
SPLIT_WORD_COST = 0.25
"""Cost of a cut inside a typed word, so that the trainee's spaces decide between equal cuts."""
COST_TOLERANCE = 1e-9
_NUMBER_BEFORE_STROKE = re.compile(r"(?<!\S)([0-9]+\.?)/")
"""A number before a stroke, at the start of a word, does not belong to a call; the stroke separates
two fields."""


def _pair_cost(sent: str, typed: str) -> float:
    if sent == typed:
        return 0.0
    if typed == "?":
        return UNKNOWN_COST
    return CONFUSABLE_COSTS.get(frozenset((sent, typed)), 1.0)


def _cost_table(sent: str, typed: str) -> list[list[float]]:
    """Return the Needleman-Wunsch table: entry [i][j] is the cost of sent[:i] against typed[:j]."""
    rows = [[j * EXTRA_COST for j in range(len(typed) + 1)]]
    for i, sent_character in enumerate(sent, 1):
        above, row = rows[-1], [i * MISSING_COST]
        for j, typed_character in enumerate(typed, 1):
            row.append(
                min(
                    above[j - 1] + _pair_cost(sent_character, typed_character),
                    above[j] + MISSING_COST,
                    row[j - 1] + EXTRA_COST,
                )
            )
        rows.append(row)
    return rows


def align_characters(sent: str, typed: str) -> tuple[Pair, ...]:
    """Return the cheapest alignment of two strings; ties favour a pair, then a missing character.

    Source: S. Needleman and C. Wunsch, J. Mol. Biol. 48 (1970), 443-453.
    """
    table = _cost_table(sent, typed)
    i, j = len(sent), len(typed)
    pairs: list[Pair] = []
    while i or j:
        cost = table[i][j]
        if i and j:
            paired_cost = table[i - 1][j - 1] + _pair_cost(sent[i - 1], typed[j - 1])
            if abs(cost - paired_cost) < COST_TOLERANCE:
                i, j = i - 1, j - 1
                pairs.append(Pair(sent=sent[i], typed=typed[j]))
                continue
        if i and abs(cost - table[i - 1][j] - MISSING_COST) < COST_TOLERANCE:
            i -= 1
            pairs.append(Pair(sent=sent[i], typed=""))
        else:
            j -= 1
            pairs.append(Pair(sent="", typed=typed[j]))
    return tuple(reversed(pairs))


def is_field_right(field: Field, text: str) -> bool:
    """Return whether text has the value of the field; empty text is right if it may be left out."""
    if not text.strip():
        return bool(field.optional_if) and field.optional_if == field.text
    value_of = FIELD_KINDS[field.kind].value
    sent = value_of(field.text)
    return sent is not None and value_of(text) == sent


@dataclass(frozen=True, slots=True)
class _TypedLine:
    """A typed line: its characters without spaces, and the positions where a space stood."""

    characters: str
    breaks: frozenset[int]

    @classmethod
    def from_text(cls, text: str, *, has_call: bool) -> "_TypedLine":
        """Split a line; has_call: one of the fields is a call, which may contain a stroke."""
        line = plain_characters(text[:MAX_ANSWER_LENGTH]).upper()[:MAX_ANSWER_LENGTH]
        line = line.replace(",", " ").replace(";", " ")
        if not has_call:
            line = line.replace("/", " ")
        while (separated := _NUMBER_BEFORE_STROKE.sub(r"\1 ", line)) != line:
            line = separated
        parts = line.split()
        breaks, position = {0}, 0
        for part in parts:
            position += len(part)
            breaks.add(position)
        return cls("".join(parts), frozenset(breaks))

    def is_beside_stroke(self, position: int) -> bool:
        """Return whether a cut there would separate a stroke from its call."""
        return position > 0 and "/" in self.characters[position - 1 : position + 1]

    def joins_part_of_word(self, start: int, end: int) -> bool:
        """Return whether characters start to end join a part of one word to another word."""
        spans = any(start < position < end for position in self.breaks)
        return spans and not (start in self.breaks and end in self.breaks)

    def parts_letter_from_digit(self, position: int) -> bool:
        """Return whether a cut there would split a word between a letter and a digit."""
        before, after = self.characters[position - 1 : position], self.characters[position:][:1]
        return position not in self.breaks and before.isalpha() and after.isdigit()

    def slice(self, start: int, end: int) -> str:
        """Return characters start to end, with their spaces put back."""
        cuts = [start, *sorted(b for b in self.breaks if start < b < end), end]
        return " ".join(self.characters[a:b] for a, b in pairwise(cuts))


def _cut_line(fields: Sequence[Field], line: _TypedLine) -> list[str]:
    """Return the part of the line that belongs to each field.

    The cut with the most right fields wins, then the one with the best alignment. Dynamic
    programming over the cut positions: best[j] is the lowest cost of assigning the first j
    characters to the fields so far, with the cuts that achieve it. An omitted field costs as much
    as a wrong one; otherwise a mistyped report would be read as part of the next field.
    """
    total = len(line.characters)
    best: dict[int, tuple[float, tuple[int, ...]]] = {0: (0.0, ())}
    for number, field in enumerate(fields, 1):
        candidates: dict[int, tuple[float, tuple[int, ...]]] = {}
        sent = field.text.upper()
        kind = FIELD_KINDS[field.kind]
        is_last = number == len(fields)
        for start, (cost_before, cuts) in best.items():
            alignment_costs = _cost_table(sent, line.characters[start:])[-1]
            for end in [total] if is_last else range(start, total + 1):
                if start < end < total and line.is_beside_stroke(end):
                    continue
                if kind.expected and line.joins_part_of_word(start, end):
                    continue  # "1 14" is read as 1 and 14, never as 11 and 4
                cost = cost_before + (0.0 if end in line.breaks else SPLIT_WORD_COST)
                part = line.slice(start, end)
                right = is_field_right(field, part)
                if start == end and right:
                    cost += WRONG_FIELD_COST
                elif not right:
                    if start < end and kind.expected and line.parts_letter_from_digit(end):
                        continue  # "T14" is one word; its 14 is not a number by itself
                    label_length = end - start - len(kind.typed_characters(part))
                    cost += WRONG_FIELD_COST + alignment_costs[end - start]
                    cost -= EXTRA_COST * max(0, label_length)
                if end not in candidates or cost < candidates[end][0] - COST_TOLERANCE:
                    candidates[end] = (cost, (*cuts, end))
        best = candidates
    cuts = (0, *best[total][1])
    return [line.slice(start, end) for start, end in pairwise(cuts)]


def is_order_error(pairs: Sequence[tuple[str, str]]) -> bool:
    """Return whether the only error is that two neighbouring characters were swapped.

    pairs: aligned (sent, typed) characters, "" for a gap. If a digit was typed for a letter of the
    same shape, or the reverse, the answer is not an order error.
    """
    if any(pair in LOOK_ALIKE for pair in pairs):
        return False
    return _swapped_characters(pairs) != ""


def _swapped_characters(pairs: Sequence[tuple[str, str]]) -> str:
    """Return the two characters, as sent, whose swap is the only error; "" for other errors."""
    sent = "".join(sent for sent, _ in pairs)
    typed = "".join(typed for _, typed in pairs)
    differing = [i for i, (a, b) in enumerate(zip(sent, typed, strict=False)) if a != b]
    if len(sent) != len(typed) or len(differing) != 2 or differing[1] != differing[0] + 1:
        return ""
    swapped = slice(differing[0], differing[1] + 1)
    return sent[swapped] if sent[swapped] == typed[swapped][::-1] else ""


def _hint(pairs: Sequence[tuple[str, str]]) -> str:
    """Return a sentence about a common error, "" for other errors."""
    for sent, typed in pairs:
        if (sent, typed) in LOOK_ALIKE:
            kinds = ("digit", "letter") if sent.isdigit() else ("letter", "digit")
            return f"the {kinds[0]} {sent} was sent, the {kinds[1]} {typed} was typed"
    swapped = _swapped_characters(pairs)
    return f"{swapped[0]} and {swapped[1]} are the wrong way round" if swapped else ""


def score_answer(
    fields: Sequence[Field], text: str, *, gave_up: bool = False
) -> tuple[FieldScore, ...]:
    """Return the score of each field for a typed line, in the order of the fields.

    Any text can be scored; only its first MAX_ANSWER_LENGTH characters count. gave_up: every field
    is wrong then, even one that may be left out.
    """
    has_call = any(field.kind == "call" for field in fields)
    parts = _cut_line(fields, _TypedLine.from_text(text, has_call=has_call))
    scores = [_score_field(field, part) for field, part in zip(fields, parts, strict=True)]
    if gave_up:
        return tuple(replace(score, right=False) for score in scores)
    if not any(score.right and score.typed for score in scores):
        scores = [
            replace(score, right=False, hint=LEFT_OUT_HINT if text.strip() else "")
            if score.right
            else score
            for score in scores
        ]
    return tuple(scores)


def _score_field(field: Field, part: str) -> FieldScore:
    kind = FIELD_KINDS[field.kind]
    pairs = align_characters(field.text.upper(), kind.typed_characters(part))
    right = is_field_right(field, part)
    hint = "" if right else _hint([(pair.sent, pair.typed) for pair in pairs])
    return FieldScore(
        name=field.name,
        sent=field.text,
        typed=part,
        pairs=pairs,
        right=right,
        hint=hint or ("" if right else kind.explain(part)),
    )


def answer_points(scores: Sequence[FieldScore], answer: Answer) -> float:
    """Return the points of one over, 0 to 100."""
    if not scores:
        return 0.0
    right_share = sum(score.right for score in scores) / len(scores)
    return 100.0 * right_share * REPLAY_FACTOR**answer.replays


def count_characters(scores: Sequence[FieldScore]) -> tuple[int, int]:
    """Return the numbers of right and of sent characters; all characters of a right field count."""
    right = sent = 0
    for score in scores:
        length = len(score.sent)
        sent += length
        matching = sum(pair.sent == pair.typed for pair in score.pairs)
        right += length if score.right else matching
    return right, sent
