"""Quick check: a rough threshold for single characters from 30 calls."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Self

from drill.core.counting import plural
from drill.core.models import Attempt, Item
from drill.core.text_blocks import Passage
from drill.core.validation import checked_list, checked_number, within
from drill.items.plan import Plan
from drill.psychometrics.character_threshold import (
    CHARACTER_TARGET,
    CHECK_TARGETS,
    QUICK_CHECK_ITEMS,
    CharacterThreshold,
    fit_character_threshold,
    next_check_level_db,
)
from drill.psychometrics.grid import MAX_ABS_SNR_DB
from drill.records.store import Store
from drill.session.attempts import character_trials_of, tally_attempts
from drill.session.kinds.base import SessionKind, item_at_snr
from drill.session.options import PLAN_OPTIONS, SessionOptions, whole_call_plan
from drill.session.results import change_resolution
from drill.session.wording import character_threshold_lines, resolution_sentence

START_DB = 6.0
"""SNR of the first item in dB in 3 kHz: most characters are copied there."""


@dataclass(frozen=True, kw_only=True)
class QuickCheck(SessionKind):
    """Whole calls; the SNR goes up or down by the share of characters copied in each.

    start_db: SNR of the first items in dB in 3 kHz. targets: share of characters copied that each
    of the alternating tracks aims at; version 0.2.0 had a single track.
    """

    name = "quick-check"
    stored_name = "quick"
    title = "Quick check"
    activity = "measure"
    default_count = QUICK_CHECK_ITEMS
    sentence = (
        f"{default_count} calls scored by characters: a rougher threshold, not comparable with x50."
    )
    options = PLAN_OPTIONS
    allows_replays = False
    gives_feedback = False

    start_db: float = START_DB
    targets: tuple[float, ...] = (CHARACTER_TARGET,)

    @classmethod
    def create(cls, options: SessionOptions, store: Store) -> Self:
        """Return a new session. See the base class."""
        cls.check_options(options)
        plan = whole_call_plan(options, default_count=cls.default_count)
        return cls(plan=plan, targets=CHECK_TARGETS)

    @classmethod
    def from_dict(cls, plan: Plan, data: Mapping[str, Any]) -> Self:
        """Return the set-up from the plan and the data that `to_dict` wrote."""
        start_db = within("start_db", data["start_db"], -MAX_ABS_SNR_DB, MAX_ABS_SNR_DB, "dB")
        targets = checked_list("targets", data.get("targets", [CHARACTER_TARGET]), _check_target)
        return cls(plan=plan, start_db=start_db, targets=targets or (CHARACTER_TARGET,))

    def to_dict(self) -> dict[str, Any]:
        """Return the first SNR, and the targets if there are several, as data for JSON."""
        data: dict[str, Any] = {"start_db": self.start_db}
        if self.targets != (CHARACTER_TARGET,):
            data["targets"] = list(self.targets)
        return data

    def item(self, number: int, attempts: Sequence[Attempt]) -> Item:
        """Return the item at the SNR of the next step."""
        trials = character_trials_of(attempts[:number])
        snr_db = next_check_level_db(self.start_db, trials, targets=self.targets)
        return item_at_snr(self.spoken_item(number), snr_db)

    def standing(self, attempts: Sequence[Attempt]) -> str:
        """Return how many characters were right and how many items are left."""
        left = plural(self.count - len(attempts), "item")
        if not attempts:
            return f"No estimate yet; {left} to go."
        return f"{tally_attempts(attempts).characters_right} characters right so far; {left} to go."

    def result(self, attempts: Sequence[Attempt]) -> CharacterThreshold:
        """Return the character threshold."""
        return fit_character_threshold(character_trials_of(attempts), self.start_db)

    def result_blocks(self, attempts: Sequence[Attempt], store: Store) -> list[Passage]:
        """Return the character threshold."""
        threshold = self.result(attempts)
        return [
            Passage(
                title="This check",
                figures=character_threshold_lines(threshold),
                sentences=(resolution_sentence(change_resolution(threshold.threshold_db.sd)),),
            )
        ]


def _check_target(field: str, value: Any) -> float:
    """Return a stored target, a share from 0 to 1."""
    return within(field, checked_number(field, value), 0, 1)
