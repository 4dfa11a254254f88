"""Training: practice at the trainee's limit, on what the trainee misses most."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Self

from drill.core.models import Attempt, Item
from drill.core.validation import checked_table, within
from drill.items.plan import Plan, compose_item
from drill.psychometrics.grid import Prior
from drill.psychometrics.placement import TRAINING_TARGETS, Placement, next_level
from drill.psychometrics.remembered_prior import prior_from_estimates
from drill.records.store import Store
from drill.session.attempts import trials_of
from drill.session.blocks import measurement_blocks
from drill.session.kinds.base import SessionKind, item_at_snr
from drill.session.options import PLAN_OPTIONS, SessionOptions, plan_from_options
from drill.weakspots.choose import choose_item, find_weaknesses

SHORT_TRAINING = 12
"""Number of items in about five minutes."""
RECENT_ANSWERS = 2000
"""Answers that weaknesses are estimated from. Older mistakes may have been unlearnt by now."""


@dataclass(frozen=True, kw_only=True)
class Training(SessionKind):
    """Practice whose SNR follows the trainee, at 60, 80 and 92 % of items copied (77 % on average).

    Every other item is chosen among several candidates as the one that the trainee is most likely
    to miss; the rest are drawn at random.

    weak: extra SNR in dB that each label needs (see drill.weakspots.choose), as the record had it
    when the session began, so that the session can be reproduced from its own data.
    """

    name = "training"
    stored_name = "training"
    title = "Training"
    sentence = "The SNR follows you, and half of the items are chosen by what you miss."
    options = PLAN_OPTIONS
    repeats_misses = True

    placement: Placement
    weak: Mapping[str, float] = field(default_factory=dict)

    @classmethod
    def create(cls, options: SessionOptions, store: Store) -> Self:
        """Return a new session, with prior and weaknesses from the record. See the base class."""
        cls.check_options(options)
        return cls.from_plan(
            plan_from_options(options, default_count=cls.default_count, prefetched=True), store
        )

    @classmethod
    def from_plan(cls, plan: Plan, store: Store) -> Self:
        """Return a new session for a plan, with prior and weaknesses from the record."""
        earlier = measurement_blocks(store)
        prior = prior_from_estimates([b.estimate() for b in earlier]) if earlier else Prior()
        return cls(
            plan=plan,
            placement=Placement(seed=plan.seed, prior=prior, targets=TRAINING_TARGETS),
            weak=find_weaknesses(store.raw_attempts(newest=RECENT_ANSWERS)),
        )

    @classmethod
    def from_dict(cls, plan: Plan, data: Mapping[str, Any]) -> Self:
        """Return the set-up from the plan and the data that `to_dict` wrote."""
        weak = {
            label: within(f"weak.{label}", cost_db, -100, 100, "dB")
            for label, cost_db in checked_table("weak", data["weak"]).items()
        }
        return cls(plan=plan, placement=Placement.from_dict(data["placement"]), weak=weak)

    def to_dict(self) -> dict[str, Any]:
        """Return placement and weaknesses as data for JSON."""
        return {"placement": self.placement.to_dict(), "weak": dict(self.weak)}

    @classmethod
    def is_drawn_at_random(cls, number: int) -> bool:
        """Return True for even numbers."""
        return number % 2 == 0

    def spoken_item(self, number: int) -> Item:
        """Return the plan's item, or for odd numbers the candidate that is hardest to copy."""
        if self.is_drawn_at_random(number):
            return compose_item(self.plan, number)
        return choose_item(self.plan, number, self.weak)

    def item(self, number: int, attempts: Sequence[Attempt]) -> Item:
        """Return the item at the SNR for the next target."""
        level = next_level(self.placement, trials_of(attempts[:number]))
        return item_at_snr(self.spoken_item(number), level.snr_db)
