"""From what a person chooses to a plan and a course: the terminal and the page ask for the same.

A choice that is left out is None, or as the dataclass has it; names of options in the messages are
those of the terminal.
"""

import secrets
from collections.abc import Sequence
from dataclasses import dataclass, replace

from drill import voices
from drill.callmix import mix as mixes
from drill.core.conditions import Conditions
from drill.core.errors import UserError
from drill.core.models import Operator
from drill.core.paths import data_folder
from drill.items.plan import Plan
from drill.linkbudget.budget import watts_to_snr
from drill.radio import presets
from drill.records.store import Store
from drill.session import blocks
from drill.session.courses import Course, Practising
from drill.voices.operators import find_operators
from drill.voices.people.roster import BUNDLED_GROUP, ROSTER
from drill.voices.wordbank.engine import check_ready

KINDS = ("practice", "training", "measuring", "quick", "comparing")
"""The kinds of sitting, as the record names them."""
ITEMS = {
    "practice": 20,
    "training": 20,
    "measuring": blocks.BLOCK_ITEMS,
    "quick": blocks.CHECK_ITEMS,
    "comparing": blocks.ARM_ITEMS,
}
"""How many items of each kind where no number is asked for."""
PATH_SNR_DB = 10.0
"""What 100 W give where watts are asked for and no path is."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Choices:
    """What is asked for. count: None for as many as the kind of sitting has.

    snr_db: None for the preset's own; no_noise is True for a path without noise. watts in place of
    it, on a path where 100 W give path_snr_db. seed: None for a new one. voices: () for all.
    """

    part: str = "call"
    exchange: str = "serial"
    mix: str = "world"
    alternates: float | None = None
    count: int | None = None
    seed: int | None = None
    conditions: str = presets.PLAIN_PRESET
    snr_db: float | None = None
    no_noise: bool = False
    watts: float | None = None
    path_snr_db: float | None = None
    fading: str | None = None
    filter: str | None = None
    processing: str | None = None
    off_frequency_hz: float | None = None
    static_db: float | None = None
    pace: float = 1.0
    voices: tuple[str, ...] = ()

    @property
    def fixes_snr(self) -> bool:
        """Return True where an SNR is asked for, one way or the other."""
        return self.no_noise or self.snr_db is not None or self.watts is not None


def conditions_of(choices: Choices) -> Conditions:
    """Return the conditions that are asked for. Raises: UserError."""
    result = presets.load_preset(choices.conditions, data_folder() / "conditions").conditions
    if choices.fading is not None:
        result = replace(result, fading=presets.parse_fading(choices.fading))
    if choices.filter is not None:
        result = replace(result, receiver=presets.parse_receiver(choices.filter))
    if choices.static_db is not None:
        result = replace(result, noise=replace(result.noise, vd_db=choices.static_db))
    transmitter = result.transmitter
    if choices.processing is not None:
        transmitter = replace(transmitter, processing=choices.processing)
    if choices.off_frequency_hz is not None:
        transmitter = replace(transmitter, off_frequency_hz=choices.off_frequency_hz)
    return _at_snr(replace(result, transmitter=transmitter), choices)


def _at_snr(conditions: Conditions, choices: Choices) -> Conditions:
    if choices.watts is not None:
        if choices.no_noise or choices.snr_db is not None:
            raise UserError("--snr and --watts say the same thing twice; give one of them")
        path_snr_db = PATH_SNR_DB if choices.path_snr_db is None else choices.path_snr_db
        return replace(conditions, snr_db=round(watts_to_snr(path_snr_db, choices.watts), 2))
    if choices.path_snr_db is not None:
        raise UserError("--path-snr goes with --watts; give both, or --snr alone")
    if choices.no_noise:
        return replace(conditions, snr_db=None)
    return conditions if choices.snr_db is None else replace(conditions, snr_db=choices.snr_db)


def plan_of(choices: Choices, *, count: int = 20) -> Plan:
    """Return the plan that is asked for; count: where the choices name none. Raises: UserError."""
    return Plan(
        seed=secrets.randbelow(1_000_000) if choices.seed is None else choices.seed,
        count=count if choices.count is None else choices.count,
        part=choices.part,
        exchange=choices.exchange,
        mix=choices.mix,
        learned=mixes.find(choices.mix),
        conditions=conditions_of(choices),
        pace=choices.pace,
        voices=speakers(choices.voices),
        alternates=choices.alternates,
    )


def speakers(asked: Sequence[str]) -> tuple[str, ...]:
    """Return the names of those who speak. Raises: UserError, NoVoice.

    Groups are spelt out, so that a plan gives the same items when the roster grows; of the one that
    nobody has to ask for, those are left out whose engine is missing here.
    """
    found: list[Operator] = []
    for name in asked or (BUNDLED_GROUP,):
        members = find_operators([name])
        for each in members:
            check_ready(each)
        found += voices.usable_operators(members) if name == BUNDLED_GROUP else members
    return tuple(dict.fromkeys(operator.name for operator in found))


def course_for(
    kind: str,
    choices: Choices,
    store: Store,
    *,
    until_db: float | None = None,
    compared: tuple[str | None, Sequence[str]] = (None, ()),
) -> Course:
    """Return a new sitting of one of KINDS.

    until_db: see drill.session.courses.Measuring; compared: for a comparison, what is changed, a key of
    drill.session.blocks.CHANGES, and its values. Raises: UserError.
    """
    if kind not in KINDS:
        raise UserError(f"a sitting of the kind {kind!r} is unknown; choose {', '.join(KINDS)}")
    if choices.fixes_snr and kind in SETS_SNR:
        raise UserError(SETS_SNR[kind])
    if kind == "comparing":
        what, values = compared
        if what is None:
            raise UserError(
                f"say what to compare: {', '.join(blocks.CHANGES)}; then two or more values"
            )
        plan = plan_of(choices, count=ITEMS[kind])
        return blocks.comparing(plan, what, values, store)
    if kind in ("measuring", "quick"):
        plan = measured_plan(choices, ITEMS[kind])
        if kind == "quick":
            return blocks.checking(plan)
        return blocks.measuring(plan, store, until_db=until_db)
    plan = plan_of(choices, count=ITEMS[kind])
    return blocks.training(plan, store) if kind == "training" else Practising(plan=plan)


SETS_SNR = {
    "training": "with --train the SNR follows you; leave out --snr and --watts",
    "measuring": "measuring chooses the SNR itself; leave out --snr and --watts",
    "quick": "measuring chooses the SNR itself; leave out --snr and --watts",
    "comparing": "comparing chooses the SNR itself; leave out --snr and --watts",
}
"""What to say to an SNR where the sitting sets it."""


def measured_plan(choices: Choices, count: int) -> Plan:
    """Return the plan of a measuring block or check. Raises: UserError."""
    if choices.part != "call":
        raise UserError("measuring is of whole calls; leave out --part, or use faintcall compare")
    plan = plan_of(choices, count=count)
    if choices.voices:
        return plan
    fixed = [one for one in ROSTER if one.name in blocks.VOICES]
    return replace(plan, voices=tuple(one.name for one in voices.usable_operators(fixed)))
