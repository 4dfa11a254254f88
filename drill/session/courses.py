"""What comes next in a sitting: a function of its plan and of the answers so far, of nothing else.

So a sitting that was broken off goes on as if it had not been, and every item can be told again
from the record. What is said in an item hangs on no answer of its sitting: a few items are spoken
ahead, in the background. Only the SNR hangs on the answers.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any, Protocol

import numpy as np

from drill.core.errors import UserError
from drill.core.models import Attempt, Item
from drill.items.plan import Plan, compose
from drill.psychometrics.character_threshold import CharacterTrial, next_check_level_db
from drill.psychometrics.grid import Trial
from drill.psychometrics.placement import Placement, next_level
from drill.psychometrics.posterior import fit
from drill.scoring.answers import characters
from drill.weakspots.choose import choose_item

CHECK_START_DB = 6.0
"""Where a quick check begins: most characters are heard."""
LEAST_ITEMS = 40
"""A measuring block is never ended by its precision before so many items."""


class Course(Protocol):
    """One kind of sitting."""

    @property
    def plan(self) -> Plan:
        """Return the plan of what is said and heard."""
        ...

    @property
    def mode(self) -> str:
        """Return how the record names this kind of sitting."""
        ...

    @property
    def replays(self) -> bool:
        """Return True where an item may be heard again before it is answered."""
        ...

    @property
    def feedback(self) -> bool:
        """Return True where the answer is told after each item."""
        ...

    @property
    def count(self) -> int:
        """Return the most items there can be."""
        ...

    def said(self, number: int) -> Item:
        """Return item `number`, its SNR left open: it is spoken before the last answers."""
        ...

    def item(self, number: int, attempts: Sequence[Attempt]) -> Item:
        """Return item `number`, counted from 0, after as many attempts."""
        ...

    def finished(self, attempts: Sequence[Attempt]) -> bool:
        """Return True where nothing is left to do."""
        ...

    def to_dict(self) -> dict[str, Any]:
        """Return what course_from needs beside mode and plan, as plain data."""
        ...


def at_level(item: Item, snr_db: float) -> Item:
    """Return the item at another SNR in 3 kHz."""
    return replace(item, conditions=replace(item.conditions, snr_db=snr_db))


def trials_of(attempts: Sequence[Attempt], warm_ups: int = 0) -> list[Trial]:
    """Return attempts as trials: right where the whole over is; the first warm_ups do not count.

    Attempts without noise, or heard more than once, are left out.
    """
    return [
        Trial(snr_db=snr_db, right=attempt.right, warm_up=number < warm_ups)
        for number, attempt in enumerate(attempts)
        if (snr_db := attempt.item.conditions.snr_db) is not None and not attempt.answer.replays
    ]


@dataclass(frozen=True, kw_only=True, slots=True)
class Practising:
    """A plan as it stands: every item under the plan's conditions."""

    plan: Plan
    mode: str = "practice"
    replays: bool = True
    feedback: bool = True

    @property
    def count(self) -> int:
        """Return the plan's count."""
        return self.plan.count

    def said(self, number: int) -> Item:
        """Return the plan's item."""
        return compose(self.plan, number)

    def item(self, number: int, attempts: Sequence[Attempt]) -> Item:
        """Return the plan's item."""
        return compose(self.plan, number)

    def finished(self, attempts: Sequence[Attempt]) -> bool:
        """Return True after the last item."""
        return len(attempts) >= self.plan.count

    def to_dict(self) -> dict[str, Any]:
        """Return nothing: the plan is all."""
        return {}


@dataclass(frozen=True, kw_only=True, slots=True)
class Training:
    """Practice that keeps the share of items copied near what one learns from.

    The SNR follows the trainee (targets of 60, 80 and 92 %, 78 % together). Half of the items are
    drawn at random, half out of CANDIDATES by what the trainee was found to miss; weak: expected
    miss of each label (drill.weakspots.choose) as the record had it when the sitting began, so that the sitting
    can be told again from its own data.
    """

    plan: Plan
    placement: Placement
    weak: Mapping[str, float] = field(default_factory=dict)
    mode: str = "training"
    replays: bool = True
    feedback: bool = True

    @property
    def count(self) -> int:
        """Return the plan's count."""
        return self.plan.count

    def said(self, number: int) -> Item:
        """Return the plan's item, or in every other one the candidate that is missed most."""
        return (
            choose_item(self.plan, number, self.weak) if number % 2 else compose(self.plan, number)
        )

    def item(self, number: int, attempts: Sequence[Attempt]) -> Item:
        """Return the item at the level for the next target."""
        level = next_level(self.placement, trials_of(attempts[:number]))
        return at_level(self.said(number), level.snr_db)

    def finished(self, attempts: Sequence[Attempt]) -> bool:
        """Return True after the last item."""
        return len(attempts) >= self.plan.count

    def to_dict(self) -> dict[str, Any]:
        """Return placement and weaknesses."""
        return {"placement": self.placement.to_dict(), "weak": dict(self.weak)}


@dataclass(frozen=True, kw_only=True, slots=True)
class Measuring:
    """A measuring block: whole items at shuffled targets, nothing told, nothing heard twice.

    until_db: ends it once the 95 % interval of x50 is as narrow, after LEAST_ITEMS at least.
    """

    plan: Plan
    placement: Placement
    until_db: float | None = None
    mode: str = "measuring"
    replays: bool = False
    feedback: bool = False

    @property
    def count(self) -> int:
        """Return the items that count and those to warm up."""
        return self.plan.count + self.placement.warm_ups

    def said(self, number: int) -> Item:
        """Return the plan's item."""
        return compose(self.plan, number)

    def item(self, number: int, attempts: Sequence[Attempt]) -> Item:
        """Return the plan's item at the level for the next target."""
        return at_level(compose(self.plan, number), self.level(attempts[:number]))

    def level(self, attempts: Sequence[Attempt]) -> float:
        """Return the SNR of the next item."""
        return next_level(self.placement, self.trials(attempts)).snr_db

    def trials(self, attempts: Sequence[Attempt]) -> list[Trial]:
        """Return the attempts as trials, the warm-ups marked."""
        return trials_of(attempts, self.placement.warm_ups)

    def finished(self, attempts: Sequence[Attempt]) -> bool:
        """Return True after the last item, or when the interval is narrow enough."""
        if len(attempts) >= self.count:
            return True
        if self.until_db is None or len(attempts) < LEAST_ITEMS + self.placement.warm_ups:
            return False
        found = fit(self.trials(attempts), self.placement.prior, np.random.default_rng(0)).x50_db
        return found.high - found.low <= self.until_db

    def to_dict(self) -> dict[str, Any]:
        """Return placement and precision."""
        return {"placement": self.placement.to_dict(), "until_db": self.until_db}


@dataclass(frozen=True, kw_only=True, slots=True)
class Checking:
    """A quick check by characters: the level steps with the share of characters copied."""

    plan: Plan
    start_db: float = CHECK_START_DB
    mode: str = "quick"
    replays: bool = False
    feedback: bool = False

    @property
    def count(self) -> int:
        """Return the plan's count."""
        return self.plan.count

    def said(self, number: int) -> Item:
        """Return the plan's item."""
        return compose(self.plan, number)

    def item(self, number: int, attempts: Sequence[Attempt]) -> Item:
        """Return the plan's item at the next step's level."""
        return at_level(
            compose(self.plan, number),
            next_check_level_db(self.start_db, character_trials(attempts[:number])),
        )

    def finished(self, attempts: Sequence[Attempt]) -> bool:
        """Return True after the last item."""
        return len(attempts) >= self.plan.count

    def to_dict(self) -> dict[str, Any]:
        """Return the first level."""
        return {"start_db": self.start_db}


def character_trials(attempts: Sequence[Attempt]) -> list[CharacterTrial]:
    """Return attempts in noise by their characters."""
    found = []
    for attempt in attempts:
        right, sent = characters(attempt.scores)
        snr_db = attempt.item.conditions.snr_db
        if snr_db is not None:
            found.append(CharacterTrial(snr_db=snr_db, right=right, sent=sent))
    return found


@dataclass(frozen=True, kw_only=True, slots=True)
class Arm:
    """One of the things compared: its name and its plan."""

    label: str
    plan: Plan


@dataclass(frozen=True, kw_only=True, slots=True)
class Comparing:
    """Two or more arms in one run, interleaved in an order that the listener is not told.

    Every round has each arm once, shuffled. Each arm is placed by its own answers. plan: of the
    first arm; its count is that of each arm.
    """

    plan: Plan
    arms: tuple[Arm, ...]
    placement: Placement
    mode: str = "comparing"
    replays: bool = False
    feedback: bool = False

    def __post_init__(self) -> None:
        """Check that there is something to compare."""
        if len(self.arms) < 2 or len({arm.label for arm in self.arms}) < len(self.arms):
            raise UserError("give two or more different things to compare")

    @property
    def count(self) -> int:
        """Return the items of all arms and those to warm up."""
        return len(self.arms) * self.plan.count + self.placement.warm_ups

    def arm(self, number: int) -> int:
        """Return which arm item `number` belongs to."""
        turn, place = divmod(number, len(self.arms))
        order = np.random.default_rng([self.plan.seed, turn]).permutation(len(self.arms))
        return int(order[place])

    def said(self, number: int) -> Item:
        """Return the item of its arm's plan; no call comes twice in the run."""
        return compose(self.arms[self.arm(number)].plan, number)

    def item(self, number: int, attempts: Sequence[Attempt]) -> Item:
        """Return the item at the level for its arm's next target."""
        arm = self.arm(number)
        placement = replace(self.placement, seed=self.placement.seed + arm, warm_ups=0)
        warming = number < self.placement.warm_ups
        if warming:
            placement = replace(placement, warm_ups=self.placement.warm_ups)
        level = next_level(placement, [] if warming else self.trials(arm, attempts[:number]))
        return at_level(self.said(number), level.snr_db)

    def trials(self, arm: int, attempts: Sequence[Attempt]) -> list[Trial]:
        """Return the trials of an arm that count, in their order."""
        return [
            trial
            for number, attempt in enumerate(attempts)
            if number >= self.placement.warm_ups and self.arm(number) == arm
            for trial in trials_of([attempt])
        ]

    def finished(self, attempts: Sequence[Attempt]) -> bool:
        """Return True after the last item."""
        return len(attempts) >= self.count

    def to_dict(self) -> dict[str, Any]:
        """Return arms and placement."""
        arms = [{"label": arm.label, "plan": arm.plan.to_dict()} for arm in self.arms]
        return {"arms": arms, "placement": self.placement.to_dict()}


def course_from(mode: str, plan: Plan, data: Mapping[str, Any]) -> Course:
    """Return the course that a sitting's record describes. Raises: UserError."""
    if mode == "practice":
        return Practising(plan=plan)
    if mode == "training":
        return Training(
            plan=plan, placement=Placement.from_dict(data["placement"]), weak=data["weak"]
        )
    if mode == "measuring":
        return Measuring(
            plan=plan, placement=Placement.from_dict(data["placement"]), until_db=data["until_db"]
        )
    if mode == "quick":
        return Checking(plan=plan, start_db=data["start_db"])
    if mode == "comparing":
        arms = tuple(
            Arm(label=arm["label"], plan=Plan.from_dict(arm["plan"])) for arm in data["arms"]
        )
        return Comparing(plan=plan, arms=arms, placement=Placement.from_dict(data["placement"]))
    raise UserError(f"a sitting of the kind {mode!r} is of a newer faintcall; update this one")
