"""Sentences about where first steps became hard, the same in the terminal and on the page."""

from drill.core.counting import plural
from drill.session.first_limit import FirstLimit


def first_limit_sentence(limit: FirstLimit) -> str:
    """Return the conclusion from first steps, with the number of items that it rests on."""
    score = f"{limit.right} of {plural(limit.answered, 'item')} heard once in noise were right"
    if limit.hard_from_the_start:
        if limit.clear_right is False:
            return f"It was still hard without noise: the clear item was wrong, and {score}."
        return f"It was hard from the start, at {limit.highest_db:+.0f} dB SNR: {score}."
    if limit.never_hard:
        return f"It did not get hard down to {limit.lowest_db:+.0f} dB SNR: {score}."
    half_db = limit.half_db
    return (
        f"It got hard at about {half_db.value:+.0f} dB SNR: there half of the items are right "
        f"(95 %: {half_db.low:+.0f} to {half_db.high:+.0f} dB), from "
        f"{plural(limit.answered, 'item')} heard once."
    )
