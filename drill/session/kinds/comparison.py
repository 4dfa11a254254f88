"""Comparison: two or more alternatives in one blind session, each with its own threshold."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Self

import numpy as np

from drill.core.counting import plural
from drill.core.errors import UserError
from drill.core.models import Attempt, Item
from drill.core.text_blocks import Passage
from drill.core.validation import checked_flag, checked_text
from drill.items.plan import Plan, compose_item
from drill.psychometrics.checks import MIN_THRESHOLD_ITEMS
from drill.psychometrics.grid import Prior, Trial
from drill.psychometrics.placement import Placement, next_level
from drill.records.store import Store
from drill.session.attempts import trials_of
from drill.session.blocks import call_guess_rate, warm_ups_for
from drill.session.changes import CHANGES
from drill.session.kinds.base import SessionKind, item_at_snr
from drill.session.options import PLAN_OPTIONS, SessionOptions, plan_from_options
from drill.session.results import ComparisonResult, compare_alternatives
from drill.session.wording import comparison_block


@dataclass(frozen=True, kw_only=True, slots=True)
class Alternative:
    """One of the alternatives compared: its label and its plan."""

    label: str
    plan: Plan


@dataclass(frozen=True, kw_only=True)
class Comparison(SessionKind):
    """Two or more alternatives, interleaved in an order that the trainee does not see.

    Each round has one item of every alternative, shuffled. The SNR of an alternative follows the
    answers to its own items.

    plan: the plan of the first alternative; its count is the count of each alternative.
    warm_ups_apart: True if the rounds begin after the warm-up, so that every alternative has
    equally many items that count. In version 0.2.0 the warm-up was part of the rounds.
    Raises: UserError for fewer than two alternatives or for two with the same label.
    """

    name = "comparison"
    stored_name = "comparing"
    title = "Comparison"
    sentence = "Two or more alternatives in one blind session, with the difference in dB."
    activity = "compare"
    default_count = MIN_THRESHOLD_ITEMS
    options = PLAN_OPTIONS | {"compare"}
    allows_replays = False
    gives_feedback = False

    alternatives: tuple[Alternative, ...]
    placement: Placement
    warm_ups_apart: bool = False

    def __post_init__(self) -> None:
        """Check that there are at least two different alternatives."""
        labels = [alternative.label for alternative in self.alternatives]
        if len(labels) < 2 or len(set(labels)) < len(labels):
            raise UserError(
                "a comparison needs two or more different values, "
                f"not {', '.join(labels) or 'none'}",
                field="compare.values",
            )

    @classmethod
    def create(cls, options: SessionOptions, store: Store) -> Self:
        """Return a new session. See the base class."""
        cls.check_options(options)
        if options.compare is None:
            raise UserError(
                f"nothing to compare; give one of {', '.join(CHANGES)}, then two or more values",
                field="compare",
                kind="missing",
            )
        plan = plan_from_options(options, default_count=cls.default_count, prefetched=True)
        return cls.from_plan(plan, options.compare.option, options.compare.values, store)

    @classmethod
    def from_plan(cls, plan: Plan, change: str, values: Sequence[str], store: Store) -> Self:
        """Return a new session with one alternative for each value of one choice of the plan.

        change: a key of drill.session.changes.CHANGES. Raises: UserError.
        """
        if change not in CHANGES:
            raise UserError(
                f"{change!r} cannot be compared; choose one of {', '.join(CHANGES)}",
                field="compare.option",
                kind="unknown",
            )
        try:
            alternatives = tuple(
                Alternative(label=value, plan=CHANGES[change].apply(plan, value))
                for value in values
            )
        except UserError as error:
            error.field = "compare.values"
            raise
        return cls(
            plan=alternatives[0].plan if alternatives else plan,
            alternatives=alternatives,
            placement=Placement(
                seed=plan.seed,
                prior=Prior(guess_rate=call_guess_rate()),
                warm_ups=warm_ups_for(store),
            ),
            warm_ups_apart=True,
        )

    @classmethod
    def from_dict(cls, plan: Plan, data: Mapping[str, Any]) -> Self:
        """Return the set-up from the plan and the data that `to_dict` wrote."""
        alternatives = tuple(
            Alternative(
                label=checked_text("arms.label", entry["label"]), plan=Plan.from_dict(entry["plan"])
            )
            for entry in data["arms"]
        )
        placement = Placement.from_dict(data["placement"])
        return cls(
            plan=plan,
            alternatives=alternatives,
            placement=placement,
            warm_ups_apart=checked_flag("warm_ups_apart", data.get("warm_ups_apart", False)),
        )

    def to_dict(self) -> dict[str, Any]:
        """Return alternatives and placement as data for JSON, with the keys of version 0.2.0.

        warm_ups_apart is written only if it is true.
        """
        arms = [{"label": a.label, "plan": a.plan.to_dict()} for a in self.alternatives]
        data = {"arms": arms, "placement": self.placement.to_dict()}
        return data | {"warm_ups_apart": True} if self.warm_ups_apart else data

    @property
    def count(self) -> int:
        """Number of items of all alternatives, warm-up included."""
        return len(self.alternatives) * self.plan.count + self.warm_ups

    @property
    def warm_ups(self) -> int:
        """How many of the first items are a warm-up and do not count."""
        return self.placement.warm_ups

    def alternative_of(self, number: int) -> int:
        """Return the index of the alternative that item `number` belongs to."""
        if self.warm_ups_apart and number >= self.warm_ups:
            number -= self.warm_ups
        turn, place = divmod(number, len(self.alternatives))
        order = np.random.default_rng([self.plan.seed, turn]).permutation(len(self.alternatives))
        return int(order[place])

    def spoken_item(self, number: int) -> Item:
        """Return the item of its alternative's plan; no call occurs twice in the session."""
        return compose_item(self.alternatives[self.alternative_of(number)].plan, number)

    def item(self, number: int, attempts: Sequence[Attempt]) -> Item:
        """Return the item at the SNR for the next target of its alternative."""
        index = self.alternative_of(number)
        warming_up = number < self.warm_ups
        placement = replace(
            self.placement,
            seed=self.placement.seed + index,
            warm_ups=self.warm_ups if warming_up else 0,
        )
        trials = [] if warming_up else self.trials(index, attempts[:number])
        return item_at_snr(self.spoken_item(number), next_level(placement, trials).snr_db)

    def trials(self, index: int, attempts: Sequence[Attempt]) -> list[Trial]:
        """Return the trials of one alternative in their order, without the warm-up."""
        own = [
            attempt
            for number, attempt in enumerate(attempts)
            if number >= self.warm_ups and self.alternative_of(number) == index
        ]
        return trials_of(own)

    def description(self) -> str:
        """Return only the seed; the conditions would reveal the alternatives."""
        return f"alternatives in a hidden random order, seed {self.plan.seed}"

    def standing(self, attempts: Sequence[Attempt]) -> str:
        """Return how many items are left; a score so far would bias the trainee."""
        return f"{plural(self.count - len(attempts), 'item')} to go."

    def result(self, attempts: Sequence[Attempt]) -> ComparisonResult:
        """Return the thresholds of the alternatives and their differences from the first."""
        trials = {
            alternative.label: self.trials(index, attempts)
            for index, alternative in enumerate(self.alternatives)
        }
        prior = self.placement.prior.for_estimates()
        return compare_alternatives(trials, prior, seed=self.plan.seed)

    def result_blocks(self, attempts: Sequence[Attempt], store: Store) -> list[Passage]:
        """Return a table of the thresholds and a sentence for each difference."""
        return [comparison_block(self.result(attempts))]
