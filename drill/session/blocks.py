"""Sittings that learn from the record: measuring, checking, comparing and training.

Only measuring blocks make thresholds and trends; practice never does, since its items are chosen.
Blocks are comparable where everything but seed, count and SNR is the same.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

import numpy as np

from drill.callmix import mix
from drill.core.errors import FaintcallError, UserError
from drill.core.models import Attempt
from drill.items.plan import Plan
from drill.psychometrics.grid import Prior, Trial
from drill.psychometrics.placement import TRAINING_TARGETS, WARM_UP_ITEMS, Placement
from drill.psychometrics.posterior import Estimate, fit, pool, prior_from_estimates
from drill.records.store import Sitting, Store
from drill.session.courses import (
    Arm,
    Checking,
    Comparing,
    Course,
    Measuring,
    Training,
    course_from,
)
from drill.voices.operators import find_operators
from drill.weakspots.choose import find_weaknesses

BLOCK_ITEMS = 60
CHECK_ITEMS = 30
ARM_ITEMS = 30
VOICES = ("birch", "maple", "copper", "pebble", "meadow", "clover")
"""Who speaks in a measuring block where nobody else is asked for: the same ones every time."""
LEAST_TRIALS = 20
"""A block that was broken off before so many items is left out of trends and memory."""
LATEST = 2000
"""Answers that tell of weaknesses: what was missed long ago may be learnt by now."""
SHORTEST_CALL = 4
CHARACTERS = 36


@dataclass(frozen=True, kw_only=True, slots=True)
class Block:
    """One measuring block of the record: when it began, what it was, its trials that count."""

    sitting: str
    started: datetime
    course: Measuring
    trials: tuple[Trial, ...]

    def estimate(self, prior: Prior | None = None) -> Estimate:
        """Return what this block tells alone. Raises: UserError where it has no trial."""
        return fit(self.trials, prior or self.course.placement.prior, rng_of(self.course.plan))


def rng_of(plan: Plan) -> np.random.Generator:
    """Return the generator that serves a block's goodness of fit."""
    return np.random.default_rng(plan.seed)


def setup(plan: Plan) -> dict[str, Any]:
    """Return what has to be the same for two blocks to be compared."""
    data = plan.to_dict()
    conditions = {k: v for k, v in data["conditions"].items() if k not in ("snr_db", "name")}
    kept = {k: v for k, v in data.items() if k not in ("seed", "count", "conditions")}
    if plan.part == "call":
        del kept["exchange"]
    return {**kept, "conditions": conditions}


def chance(plan: Plan) -> float:
    """Return how likely an item is right by luck: all characters of the shortest call."""
    return float(CHARACTERS) ** -SHORTEST_CALL


def course_of(sitting: Sitting) -> Course:
    """Return what a sitting was. Raises: UserError."""
    return course_from(sitting.mode, Plan.from_dict(sitting.plan), sitting.course)


def going_on(sitting: Sitting, store: Store) -> Course | None:
    """Return what a sitting is where it can be gone on with here, None where it cannot."""
    try:
        course = course_of(sitting)
    except FaintcallError:  # an exchange or a voice that is gone
        return None
    if sitting.answered >= course.count:
        return None
    # Only a block that is ended by its precision can be finished before.
    ends_early = getattr(course, "until_db", None) is not None
    over = ends_early and course.finished(store.attempts(sitting.id))
    return None if over else course


def withheld(sitting: Sitting, store: Store) -> bool:
    """Return True where nothing of a sitting is told yet: it goes on, and tells only at its end."""
    course = going_on(sitting, store)
    return course is not None and not course.feedback


def blocks(store: Store, plan: Plan | None = None) -> list[Block]:
    """Return the measuring blocks of the record, oldest first; plan: those comparable with it."""
    found = []
    for sitting in reversed(store.sittings(modes=("measuring",))):
        course = course_of(sitting)
        assert isinstance(course, Measuring)
        if plan is not None and setup(course.plan) != setup(plan):
            continue
        warm_ups = course.placement.warm_ups
        trials = [
            Trial(snr_db=snr_db, right=right)
            for snr_db, right, replays in store.marks(sitting.id)[warm_ups:]
            if snr_db is not None and not replays
        ]
        if len(trials) >= LEAST_TRIALS:
            started = datetime.fromisoformat(sitting.started)
            found.append(
                Block(sitting=sitting.id, started=started, course=course, trials=tuple(trials))
            )
    return found


def pooled(found: Sequence[Block]) -> Estimate:
    """Return one estimate from blocks, by the prior of the first: the slope counts once.

    Raises: UserError where there is none.
    """
    if not found:
        raise UserError("there is no measuring block yet; make one with: faintcall measure")
    first = found[0].course
    return pool([b.trials for b in found], first.placement.prior, rng_of(first.plan))


def measuring(plan: Plan, store: Store, *, until_db: float | None = None) -> Measuring:
    """Return a new block: its prior is what earlier comparable blocks say of the slope.

    A listener without any block warms up first. Raises: UserError.
    """
    if until_db is not None and not 0.5 <= until_db <= 10:
        raise UserError(f"an interval of {until_db:g} dB; allowed are 0.5 to 10")
    earlier = blocks(store, plan)
    prior = Prior(guess_rate=chance(plan))
    if earlier:
        prior = prior_from_estimates([block.estimate() for block in earlier])
    warm_ups = 0 if blocks(store) else WARM_UP_ITEMS
    placement = Placement(seed=plan.seed, prior=prior, warm_ups=warm_ups)
    return Measuring(plan=plan, placement=placement, until_db=until_db)


def checking(plan: Plan) -> Checking:
    """Return a quick check by characters."""
    return Checking(plan=plan)


def training(plan: Plan, store: Store) -> Training:
    """Return practice whose SNR follows the trainee, with the weaknesses the record tells of."""
    earlier = blocks(store)
    prior = prior_from_estimates([block.estimate() for block in earlier]) if earlier else Prior()
    placement = Placement(seed=plan.seed, prior=prior, targets=TRAINING_TARGETS)
    return Training(plan=plan, placement=placement, weak=find_weaknesses(store.raw(newest=LATEST)))


def comparing(plan: Plan, what: str, values: Sequence[str], store: Store) -> Comparing:
    """Return a comparison of one plan with one thing changed. Raises: UserError."""
    if what not in CHANGES:
        raise UserError(f"{what!r} cannot be compared; choose one of {', '.join(CHANGES)}")
    arms = tuple(Arm(label=value, plan=CHANGES[what](plan, value)) for value in values)
    warm_ups = 0 if blocks(store) else WARM_UP_ITEMS
    placement = Placement(seed=plan.seed, prior=Prior(guess_rate=chance(plan)), warm_ups=warm_ups)
    return Comparing(plan=arms[0].plan if arms else plan, arms=arms, placement=placement)


def _conditions(plan: Plan, value: str) -> Plan:
    from drill.core.paths import data_folder
    from drill.radio.presets import load_preset

    return replace(plan, conditions=load_preset(value, data_folder() / "conditions").conditions)


def _fading(plan: Plan, value: str) -> Plan:
    from drill.radio.presets import parse_fading

    return replace(plan, conditions=replace(plan.conditions, fading=parse_fading(value)))


def _filter(plan: Plan, value: str) -> Plan:
    from drill.radio.presets import parse_receiver

    return replace(plan, conditions=replace(plan.conditions, receiver=parse_receiver(value)))


def _processing(plan: Plan, value: str) -> Plan:
    transmitter = replace(plan.conditions.transmitter, processing=value)
    return replace(plan, conditions=replace(plan.conditions, transmitter=transmitter))


def _voices(plan: Plan, value: str) -> Plan:
    return replace(plan, voices=tuple(each.name for each in find_operators(value.split("+"))))


def _alternates(plan: Plan, value: str) -> Plan:
    try:
        return replace(plan, alternates=float(value))
    except ValueError:
        raise UserError(f"a share of alternates of {value!r}; give 0 (ITU words) to 1") from None


def _exchange(plan: Plan, value: str) -> Plan:
    return replace(plan, part="exchange", exchange=value)


def _mix(plan: Plan, value: str) -> Plan:
    return replace(plan, mix=value, learned=mix.find(value))


CHANGES: dict[str, Callable[[Plan, str], Plan]] = {
    "conditions": _conditions,
    "fading": _fading,
    "filter": _filter,
    "processing": _processing,
    "voices": _voices,
    "alternates": _alternates,
    "exchange": _exchange,
    "mix": _mix,
}
"""What `faintcall compare` can change, and how."""


def arm_estimates(course: Comparing, attempts: Sequence[Attempt]) -> list[Estimate | None]:
    """Return what each arm's trials tell; None where it has none yet."""
    found: list[Estimate | None] = []
    for number in range(len(course.arms)):
        trials = course.trials(number, attempts)
        rng = rng_of(course.plan)
        found.append(fit(trials, course.placement.prior, rng) if trials else None)
    return found
