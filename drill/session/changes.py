"""The choices that a comparison can vary, and how each one changes a plan."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

from drill.callmix.storage import find_learned_mix
from drill.core.errors import UserError
from drill.core.paths import data_folder
from drill.items.plan import Plan
from drill.radio import presets
from drill.voices.operators import find_operators


@dataclass(frozen=True, kw_only=True, slots=True)
class PlanChange:
    """One choice that a comparison varies.

    sentence: what varies, for lists. apply: returns the plan with the choice set to a value, and
    raises UserError for a value that cannot be used.
    """

    sentence: str
    apply: Callable[[Plan, str], Plan]


def _with_conditions(plan: Plan, value: str) -> Plan:
    preset = presets.load_preset(value, data_folder() / "conditions")
    return replace(plan, conditions=preset.conditions)


def _with_fading(plan: Plan, value: str) -> Plan:
    return replace(plan, conditions=replace(plan.conditions, fading=presets.parse_fading(value)))


def _with_filter(plan: Plan, value: str) -> Plan:
    return replace(
        plan, conditions=replace(plan.conditions, receiver=presets.parse_receiver(value))
    )


def _with_processing(plan: Plan, value: str) -> Plan:
    transmitter = replace(plan.conditions.transmitter, processing=value)
    return replace(plan, conditions=replace(plan.conditions, transmitter=transmitter))


def _with_voices(plan: Plan, value: str) -> Plan:
    operators = find_operators(value.split("+"))
    return replace(plan, voices=tuple(operator.name for operator in operators))


def _with_alternates(plan: Plan, value: str) -> Plan:
    try:
        share = float(value)
    except ValueError:
        raise UserError(
            f"the share of alternates {value!r} is not a number; "
            "give 0 (every letter in the ITU's word) to 1",
            field="alternates",
            kind="wrong_type",
        ) from None
    return replace(plan, alternates=share)


def _with_exchange(plan: Plan, value: str) -> Plan:
    return replace(plan, part="exchange", exchange=value)


def _with_mix(plan: Plan, value: str) -> Plan:
    return replace(plan, mix=value, learned=find_learned_mix(value))


CHANGES: Mapping[str, PlanChange] = {
    "conditions": PlanChange(sentence="whole sets of conditions", apply=_with_conditions),
    "fading": PlanChange(sentence="kinds of fading", apply=_with_fading),
    "filter": PlanChange(sentence="receiver filters", apply=_with_filter),
    "processing": PlanChange(
        sentence="speech processing at the far station", apply=_with_processing
    ),
    "voices": PlanChange(sentence="operators; join several names with +", apply=_with_voices),
    "alternates": PlanChange(
        sentence="share of letters not spelt with the ITU's word, 0 to 1", apply=_with_alternates
    ),
    "exchange": PlanChange(sentence="exchanges", apply=_with_exchange),
    "mix": PlanChange(sentence="mixes that the calls are drawn from", apply=_with_mix),
}
"""What a comparison can vary, by the name of the option."""
