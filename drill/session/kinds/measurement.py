"""Measurement: the SNR at which whole calls are copied, from a block of about 60 calls."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Self

from drill.core.counting import plural
from drill.core.models import Attempt, Item
from drill.core.text_blocks import Passage
from drill.core.validation import checked_number, within
from drill.items.plan import Plan
from drill.psychometrics.grid import Prior, Trial
from drill.psychometrics.placement import Placement, next_level
from drill.psychometrics.posterior import threshold_interval
from drill.psychometrics.remembered_prior import prior_from_estimates
from drill.records.store import Store
from drill.session import blocks
from drill.session.attempts import trials_of
from drill.session.kinds.base import SessionKind, item_at_snr
from drill.session.options import PLAN_OPTIONS, SessionOptions, whole_call_plan
from drill.session.results import MeasurementResult, measure_block
from drill.session.wording import interval_db, measurement_result_blocks

MIN_ITEMS = 40
"""Fewest items after which a narrow interval can end a session; before that it is mostly luck."""


@dataclass(frozen=True, kw_only=True)
class Measurement(SessionKind):
    """A measurement block: whole calls at shuffled targets, without replays or scores.

    until_db: end once the 95 % interval of the 50 % threshold (x50) is this narrow, after MIN_ITEMS
    items at the earliest; None to present all items.
    """

    name = "measurement"
    stored_name = blocks.MEASUREMENT_STORED_NAME
    title = "Measurement"
    activity = "measure"
    default_count = 60
    sentence = (
        f"{default_count} calls in about eight minutes: the SNR at which you copy half of them "
        "(x50)."
    )
    options = PLAN_OPTIONS | {"until_db"}
    allows_replays = False
    gives_feedback = False

    placement: Placement
    until_db: float | None = None

    @classmethod
    def create(cls, options: SessionOptions, store: Store) -> Self:
        """Return a new session, with the prior from the record. See the base class."""
        cls.check_options(options)
        if options.until_db is not None:
            within("until_db", options.until_db, 0.5, 10, "dB", label="interval of x50")
        plan = whole_call_plan(options, default_count=cls.default_count)
        return cls.from_plan(plan, store, until_db=options.until_db)

    @classmethod
    def from_plan(cls, plan: Plan, store: Store, *, until_db: float | None = None) -> Self:
        """Return a new session for a plan.

        The prior of the slope comes from earlier comparable blocks. A trainee without any block
        warms up first.
        """
        earlier = blocks.measurement_blocks(store, plan)
        prior = Prior(guess_rate=blocks.call_guess_rate())
        if earlier:
            prior = prior_from_estimates([block.estimate() for block in earlier])
        warm_ups = blocks.warm_ups_for(store)
        placement = Placement(seed=plan.seed, prior=prior, warm_ups=warm_ups)
        return cls(plan=plan, placement=placement, until_db=until_db)

    @classmethod
    def from_dict(cls, plan: Plan, data: Mapping[str, Any]) -> Self:
        """Return the set-up from the plan and the data that `to_dict` wrote."""
        placement = Placement.from_dict(data["placement"])
        until_db = data["until_db"]
        if until_db is not None:
            until_db = checked_number("until_db", until_db)
        return cls(plan=plan, placement=placement, until_db=until_db)

    def to_dict(self) -> dict[str, Any]:
        """Return placement and width of the interval as data for JSON."""
        return {"placement": self.placement.to_dict(), "until_db": self.until_db}

    @property
    def count(self) -> int:
        """Largest number of items, warm-up included."""
        return self.plan.count + self.warm_ups

    @property
    def warm_ups(self) -> int:
        """How many of the first items are a warm-up and do not count."""
        return self.placement.warm_ups

    @property
    def estimation_prior(self) -> Prior:
        """Prior of the estimate from this block; only the placement knows the earlier slope."""
        return self.placement.prior.for_estimates()

    @property
    def can_end_early(self) -> bool:
        """True if a narrow interval ends the session."""
        return self.until_db is not None

    def item(self, number: int, attempts: Sequence[Attempt]) -> Item:
        """Return the plan's item at the SNR for the next target."""
        level = next_level(self.placement, trials_of(attempts[:number], self.warm_ups))
        return item_at_snr(self.spoken_item(number), level.snr_db)

    def finished(self, attempts: Sequence[Attempt]) -> bool:
        """Return True after the last item, or once the interval of x50 is narrow enough."""
        if len(attempts) >= self.count:
            return True
        if self.until_db is None or len(attempts) < MIN_ITEMS + self.warm_ups:
            return False
        trials = trials_of(attempts, self.warm_ups)
        x50_db = threshold_interval(trials, self.estimation_prior)
        return x50_db.high - x50_db.low <= self.until_db

    def counted_trials(self, attempts: Sequence[Attempt]) -> list[Trial]:
        """Return the trials without the warm-up."""
        return [trial for trial in trials_of(attempts, self.warm_ups) if not trial.warm_up]

    def standing(self, attempts: Sequence[Attempt]) -> str:
        """Return the estimate of x50 so far and how many items are left at most."""
        left = plural(self.count - len(attempts), "item")
        trials = self.counted_trials(attempts)
        if not trials:
            return f"No estimate yet; {left} to go."
        x50_db = threshold_interval(trials, self.estimation_prior)
        return f"x50 so far {interval_db(x50_db)}; at most {left} to go."

    def measurement_block(
        self, session: str, started: datetime, attempts: Sequence[Attempt]
    ) -> blocks.MeasurementBlock | None:
        """Return the session as a block for threshold and trend, None if no trial counts."""
        trials = self.counted_trials(attempts)
        if not trials:
            return None
        return blocks.MeasurementBlock(
            session=session,
            started=started,
            plan=self.plan,
            placement=self.placement,
            trials=tuple(trials),
        )

    def result(self, attempts: Sequence[Attempt], store: Store) -> MeasurementResult | None:
        """Return thresholds of this block and of all comparable ones, None if no trial counts.

        store: the record, with the attempts of this session in it.
        """
        trials = self.counted_trials(attempts)
        if not trials:
            return None
        comparable = blocks.measurement_blocks(store, self.plan)
        return measure_block(trials, self.estimation_prior, comparable, seed=self.plan.seed)

    def result_blocks(self, attempts: Sequence[Attempt], store: Store) -> list[Passage]:
        """Return thresholds, curve and power, then the comparison with earlier blocks."""
        return measurement_result_blocks(self.result(attempts, store))
