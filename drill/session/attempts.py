"""Summaries of a session's attempts: trials for the psychometrics, and sums for the score."""

from collections.abc import Sequence
from dataclasses import dataclass

from drill.core.models import Attempt
from drill.psychometrics.character_threshold import CharacterTrial
from drill.psychometrics.grid import Trial
from drill.scoring.answers import count_characters


@dataclass(frozen=True, kw_only=True, slots=True)
class SessionTally:
    """Sums over the attempts of a session; right_at_first_hearing: right without a replay."""

    answered: int = 0
    right: int = 0
    characters_right: int = 0
    characters_sent: int = 0
    right_at_first_hearing: int = 0


def tally_attempts(attempts: Sequence[Attempt]) -> SessionTally:
    """Return the sums over the attempts."""
    counts = [count_characters(attempt.scores) for attempt in attempts]
    return SessionTally(
        answered=len(attempts),
        right=sum(attempt.right for attempt in attempts),
        characters_right=sum(right for right, _ in counts),
        characters_sent=sum(sent for _, sent in counts),
        right_at_first_hearing=sum(
            attempt.right and not attempt.answer.replays for attempt in attempts
        ),
    )


def trials_of(attempts: Sequence[Attempt], warm_ups: int = 0) -> list[Trial]:
    """Return the attempts as trials; a trial is right if the whole over is right.

    warm_ups: how many of the first attempts are marked as warm-up. Attempts without noise and
    attempts with a replay are left out.
    """
    return [
        Trial(snr_db=snr_db, right=attempt.right, warm_up=number < warm_ups)
        for number, attempt in enumerate(attempts)
        if (snr_db := attempt.item.conditions.snr_db) is not None and not attempt.answer.replays
    ]


def character_trials_of(attempts: Sequence[Attempt]) -> list[CharacterTrial]:
    """Return the attempts in noise as counts of characters right and sent."""
    trials = []
    for attempt in attempts:
        right, sent = count_characters(attempt.scores)
        snr_db = attempt.item.conditions.snr_db
        if snr_db is not None:
            trials.append(CharacterTrial(snr_db=snr_db, right=right, sent=sent))
    return trials
