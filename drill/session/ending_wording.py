"""Sentences about a finished practice session, the same in the terminal and on the page."""

from drill.core.counting import plural
from drill.session.ending import PracticeEnding
from drill.session.weeks import WeekComparison


def ending_score(ending: PracticeEnding) -> str:
    """Return the items that were right on first hearing, such as "8 of 12"."""
    return f"{ending.tally.right_at_first_hearing} of {ending.tally.answered}"


def ending_sentence(ending: PracticeEnding) -> str:
    """Return a sentence on what the score counts, the items' SNRs, and the right characters."""
    tally = ending.tally
    later = tally.right - tally.right_at_first_hearing
    replayed = f", {later} more after a replay" if later else ""
    return (
        f"{ending.part.capitalize()}s right on first hearing{_levels(ending)}{replayed}; "
        f"{tally.characters_right} of {plural(tally.characters_sent, 'character')} right."
    )


def week_sentence(week: WeekComparison) -> str:
    """Return a sentence that compares this week with the week before."""
    if not week.shown:
        return "Compared with the week before, no change is shown."
    return (
        f"At {week.snr_db:+.1f} dB you now copy {100 * week.now.value:.0f} of 100; the week before "
        f"it was {100 * week.before.value:.0f}."
    )


def week_note(week: WeekComparison) -> str:
    """Return a sentence with the difference, its interval and the numbers of items."""
    difference = week.difference
    return (
        f"Difference in 100 items at {week.snr_db:+.1f} dB: {100 * difference.value:+.0f} (95 %: "
        f"{100 * difference.low:+.0f} to {100 * difference.high:+.0f}), from "
        f"{plural(week.n_now, 'item')} this week and {week.n_before} the week before, chosen at "
        "random."
    )


def _levels(ending: PracticeEnding) -> str:
    if ending.lowest_db is None or ending.highest_db is None:
        return " without noise"
    if ending.highest_db - ending.lowest_db < 0.1:
        return f" at {ending.lowest_db:+.1f} dB SNR"
    return f" at {ending.lowest_db:+.1f} to {ending.highest_db:+.1f} dB SNR"
