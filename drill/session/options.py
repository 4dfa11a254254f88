"""The options of a session, the same in the terminal and on the page, and the plan they make."""

import secrets
from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from typing import Annotated

from drill import voices
from drill.callmix.storage import find_learned_mix
from drill.core.conditions import Conditions
from drill.core.errors import UserError
from drill.core.models import Operator
from drill.core.paths import data_folder
from drill.core.structuring import max_items, max_length
from drill.items.plan import Plan
from drill.linkbudget.budget import snr_from_watts
from drill.radio import presets
from drill.session.absent_voices import measurement_operators
from drill.voices.default_operators import default_operators
from drill.voices.operators import find_operators
from drill.voices.people.roster import BUNDLED_GROUP
from drill.voices.wordbank.bank_operators import check_bank_ready

DEFAULT_PATH_SNR_DB = 10.0
"""SNR in 3 kHz at 100 W, if the user gives a power but not its path."""
SNR_OPTIONS = frozenset({"snr_db", "no_noise", "watts", "path_snr_db"})
"""Options that set the SNR of every item."""
PLAN_OPTIONS = frozenset(
    {
        *("part", "exchange", "mix", "alternates", "count", "seed", "pace", "voices"),
        *("conditions", "fading", "filter", "processing", "off_frequency_hz", "static_db"),
    }
)
"""Options that choose the words, the operators and the conditions except the SNR."""

_Name = Annotated[str, max_length(500)]
_NameList = Annotated[tuple[_Name, ...], max_items(100)]


@dataclass(frozen=True, kw_only=True, slots=True)
class ComparedOption:
    """What a comparison varies, a key of drill.session.changes.CHANGES, and the values it takes."""

    option: _Name
    values: _NameList = ()


@dataclass(frozen=True, kw_only=True, slots=True)
class SessionOptions:
    """The options that the user chose; the others have the defaults given here.

    part, exchange, mix, alternates, pace: see drill.items.plan.Plan. count: number of items, None
    for as many as the kind of session has by default. seed: None for a new one. conditions: name of
    a preset; fading, filter, processing, off_frequency_hz and static_db (Vd) replace parts of it.
    snr_db: SNR in 3 kHz, None for that of the preset. no_noise: True for a path without noise.
    watts: transmitter power in place of an SNR, on a path with an SNR of path_snr_db at 100 W (None
    for DEFAULT_PATH_SNR_DB). voices: names of operators or groups, empty for all bundled ones.
    until_db: width of the 95 % interval of x50 that ends a measurement, None to present all items.
    compare: what a comparison varies.
    """

    part: _Name = "call"
    exchange: _Name = "serial"
    mix: _Name = "world"
    alternates: float | None = None
    count: int | None = None
    seed: int | None = None
    conditions: _Name = presets.PLAIN_PRESET
    snr_db: float | None = None
    no_noise: bool = False
    watts: float | None = None
    path_snr_db: float | None = None
    fading: _Name | None = None
    filter: _Name | None = None
    processing: _Name | None = None
    off_frequency_hz: float | None = None
    static_db: float | None = None
    pace: float = 1.0
    voices: _NameList = ()
    until_db: float | None = None
    compare: ComparedOption | None = None

    @property
    def given(self) -> frozenset[str]:
        """Names of the options that differ from their defaults."""
        return frozenset(
            field.name for field in fields(self) if getattr(self, field.name) != field.default
        )


def conditions_from_options(options: SessionOptions) -> Conditions:
    """Return the conditions that the options ask for. Raises: UserError."""
    conditions = presets.load_preset(options.conditions, data_folder() / "conditions").conditions
    if options.fading is not None:
        conditions = replace(conditions, fading=presets.parse_fading(options.fading))
    if options.filter is not None:
        conditions = replace(conditions, receiver=presets.parse_receiver(options.filter))
    if options.static_db is not None:
        conditions = replace(conditions, noise=replace(conditions.noise, vd_db=options.static_db))
    transmitter = conditions.transmitter
    if options.processing is not None:
        transmitter = replace(transmitter, processing=options.processing)
    if options.off_frequency_hz is not None:
        transmitter = replace(transmitter, off_frequency_hz=options.off_frequency_hz)
    return _with_snr(replace(conditions, transmitter=transmitter), options)


def _with_snr(conditions: Conditions, options: SessionOptions) -> Conditions:
    if options.watts is not None:
        if options.no_noise or options.snr_db is not None:
            raise UserError(
                "the SNR and the power in watts both set the SNR; give only one of them",
                field="watts",
            )
        path_snr_db = DEFAULT_PATH_SNR_DB if options.path_snr_db is None else options.path_snr_db
        return replace(conditions, snr_db=round(snr_from_watts(path_snr_db, options.watts), 2))
    if options.path_snr_db is not None:
        raise UserError(
            "the SNR that 100 W give needs a power in watts; give both, or the SNR alone",
            field="path_snr_db",
        )
    if options.no_noise:
        return replace(conditions, snr_db=None)
    return conditions if options.snr_db is None else replace(conditions, snr_db=options.snr_db)


def plan_from_options(
    options: SessionOptions, *, default_count: int = 20, prefetched: bool = False
) -> Plan:
    """Return the plan that the options ask for, with a new seed if they name none.

    default_count: number of items if the options name none. prefetched: the items are prefetched,
    so that slow voices can be among those drawn by default. Raises: UserError, NoVoice.
    """
    return Plan(
        seed=secrets.randbelow(1_000_000) if options.seed is None else options.seed,
        count=default_count if options.count is None else options.count,
        part=options.part,
        exchange=options.exchange,
        mix=options.mix,
        learned=find_learned_mix(options.mix),
        conditions=conditions_from_options(options),
        pace=options.pace,
        voices=operator_names(options.voices, prefetched=prefetched),
        alternates=options.alternates,
    )


def whole_call_plan(options: SessionOptions, *, default_count: int) -> Plan:
    """Return the plan of a measurement or quick check: calls alone, by MEASUREMENT_OPERATORS.

    Operators named in the options replace MEASUREMENT_OPERATORS. If none of these can speak, all
    operators that can speak are used. Raises: UserError for a part other than the call; NoVoice.
    """
    if options.part != "call":
        raise UserError(
            f"part {options.part!r} cannot be measured, only whole calls can; "
            "choose the part 'call', or compare exchanges",
            field="part",
        )
    plan = plan_from_options(options, default_count=default_count)
    if options.voices:
        return plan
    fixed = measurement_operators()
    problems = voices.engine_problems(fixed)
    usable = tuple(operator.name for operator in fixed if operator.engine not in problems)
    return replace(plan, voices=usable) if usable else plan


def operator_names(names: Sequence[str], *, prefetched: bool = False) -> tuple[str, ...]:
    """Return the names of the operators that speak.

    names: operators or groups, empty for the default operators. Groups are expanded to names, so
    that a plan stays reproducible when the roster grows. From the bundled group, operators whose
    engine is not installed are left out. prefetched: slow voices can be among the default ones.

    Raises: UserError for an unknown name; NoVoice.
    """
    operators: list[Operator] = []
    if not names:
        operators += default_operators(with_studio=prefetched)
    for name in names:
        try:
            members = find_operators([name])
        except UserError as error:
            error.field = "voices"
            raise
        for operator in members:
            check_bank_ready(operator)
        operators += voices.usable_operators(members) if name == BUNDLED_GROUP else members
    return tuple(dict.fromkeys(operator.name for operator in operators))
