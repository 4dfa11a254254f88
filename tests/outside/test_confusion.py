"""Our alignment against plain edit distance, on answers made from a known confusion matrix.

Reference library: rapidfuzz, Levenshtein.editops (all edits cost 1). The mistake measured is the
share of errors put into a wrong cell of the matrix; VK3FS for VK3SF and the like count as two.
"""

import random
from collections import Counter

from rapidfuzz.distance import Levenshtein

from drill.scoring.answers import align

SYMBOLS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789"
CHANCES = {"wrong": 0.10, "missing": 0.03, "extra": 0.005}


def typed(sent: str, rng: random.Random) -> tuple[str, Counter[tuple[str, str]]]:
    """Return an answer and the errors that made it: digits and letters to their neighbours."""
    out, errors = "", Counter[tuple[str, str]]()
    for character in sent:
        draw = rng.random()
        if draw < CHANCES["wrong"]:
            at = SYMBOLS.index(character)
            other = SYMBOLS[(at + rng.choice((1, 1, 2, -1))) % len(SYMBOLS)]
            out += other
            errors[character, other] += 1
        elif draw < CHANCES["wrong"] + CHANCES["missing"]:
            errors[character, ""] += 1
        else:
            out += character
        if rng.random() < CHANCES["extra"]:
            extra = rng.choice(SYMBOLS)
            out += extra
            errors["", extra] += 1
    return out, errors


def plain(sent: str, copied: str) -> Counter[tuple[str, str]]:
    """Return the errors that plain edit distance sees."""
    found = Counter[tuple[str, str]]()
    for edit in Levenshtein.editops(sent, copied):
        a = sent[edit.src_pos] if edit.tag != "insert" else ""
        b = copied[edit.dest_pos] if edit.tag != "delete" else ""
        found[a, b] += 1
    return found


def ours(sent: str, copied: str) -> Counter[tuple[str, str]]:
    return Counter((p.sent, p.copied) for p in align(sent, copied) if p.sent != p.copied)


def test_fewer_errors_go_astray_than_by_plain_edit_distance() -> None:
    rng = random.Random(5)
    true, by_us, by_plain = (Counter[tuple[str, str]]() for _ in range(3))
    for _ in range(4000):
        sent = "".join(rng.choice(SYMBOLS) for _ in range(6))
        copied, errors = typed(sent, rng)
        true += errors
        by_us += ours(sent, copied)
        by_plain += plain(sent, copied)

    def astray(found: Counter[tuple[str, str]]) -> float:
        cells = set(true) | set(found)
        return sum(abs(true[c] - found[c]) for c in cells) / sum(true.values())

    assert astray(by_us) < 0.08
    assert astray(by_us) < astray(by_plain)
