"""One set-up of every kind of session, for tests."""

from dataclasses import replace

from drill.items.plan import Plan
from drill.psychometrics.placement import TRAINING_TARGETS, Placement
from drill.session.kinds.base import SessionKind
from drill.session.kinds.comparison import Alternative, Comparison
from drill.session.kinds.first_steps import FirstSteps
from drill.session.kinds.measurement import Measurement
from drill.session.kinds.practice import Practice
from drill.session.kinds.quick_check import QuickCheck
from drill.session.kinds.training import Training

PLAN = Plan(seed=5, count=30, mix="unassigned", voices=("tin", "wren"))
EXAMPLE_KINDS: dict[str, SessionKind] = {
    "practice": Practice(plan=PLAN),
    "training": Training(
        plan=PLAN, placement=Placement(seed=5, targets=TRAINING_TARGETS), weak={"character Q": 3.0}
    ),
    "first-steps": FirstSteps(plan=PLAN),
    "measurement": Measurement(plan=PLAN, placement=Placement(seed=5, warm_ups=5), until_db=2.0),
    "quick-check": QuickCheck(plan=PLAN),
    "comparison": Comparison(
        plan=PLAN,
        alternatives=(
            Alternative(label="one", plan=PLAN),
            Alternative(label="two", plan=replace(PLAN, alternates=0.9)),
        ),
        placement=Placement(seed=5, warm_ups=2),
    ),
}
