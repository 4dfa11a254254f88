"""Heard overs from text, for tests: "E 8 ? , A B C thank you 5 9"."""

from drill.contact.hearing import HeardOver, HeardToken

WORD_S, PAUSE_S = 0.4, 0.2


def heard_over(text: str, *, level_db: float = 0.0, confidence: float = 0.9) -> HeardOver:
    """Return an over from characters, "?" (a character not made out), words, and "," (a pause)."""
    tokens, time_s = [], 0.0
    for part in text.split():
        if part == ",":
            time_s += PAUSE_S
            continue
        made_out = part != "?"
        tokens.append(
            HeardToken(
                text=part if made_out else "",
                confidence=confidence if made_out else 0.0,
                start_s=time_s,
                end_s=time_s + WORD_S,
            )
        )
        time_s += WORD_S
    return HeardOver(tokens=tuple(tokens), level_db=level_db)
