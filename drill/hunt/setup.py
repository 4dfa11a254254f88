"""The set-up of a hunt: everything that determines its bands and stations."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from random import Random
from typing import Annotated, Any, Self

from drill.contact.overs import Speaker
from drill.contact.setup import (
    DEFAULT_WATTS,
    default_own_voice,
    own_call_or_offered,
    own_callsign,
    own_field,
)
from drill.core.conditions import Conditions
from drill.core.errors import UserError
from drill.core.structuring import from_data, max_items, to_data
from drill.core.validation import within
from drill.hunt.values import (
    BandKind,
    HuntValues,
    find_band_kind,
    load_hunt_values,
    recorded_hunt_values,
)
from drill.items.plan import Plan
from drill.linkbudget.budget import MAX_WATTS, MIN_WATTS
from drill.session.options import SessionOptions, plan_from_options
from drill.voices.operators import find_operator

MINUTES_RANGE = (10.0, 120.0)
LONGEST_MINUTES = 600.0
"""Longest hunt, in minutes, of a set-up that was not made from options, such as that of a soak
test."""
DEFAULT_MINUTES = 60.0
DEFAULT_BAND = "jammed"
MAX_BANDS = 3
LOWER_EDGES_HZ = (14_150_000.0, 21_200_000.0, 28_400_000.0)
"""Lower edge of each band in the order of the choice: stretches where amateurs speak in upper
sideband (common practice, no source). The stations on them are invented."""
HUNT_OPTIONS = frozenset(
    {
        *("exchange", "mix", "alternates", "seed", "pace", "voices", "conditions"),
        *("fading", "filter", "static_db", "watts"),
    }
)
"""Those options of every session that a hunt accepts."""


@dataclass(frozen=True, kw_only=True, slots=True)
class HuntOptions:
    """The user's options of a hunt, in addition to those of every session.

    call: the user's own call, "" for OFFERED_CALL. voice: operator that speaks for the trainee, ""
    for the first that works. minutes: length. bands: names of presets. weekend: 0 for the first
    evening of a contest to 1 for its last hour.
    """

    call: str = ""
    voice: str = ""
    minutes: float = DEFAULT_MINUTES
    bands: Annotated[tuple[str, ...], max_items(MAX_BANDS)] = (DEFAULT_BAND,)
    weekend: float = 0.25


@dataclass(frozen=True, kw_only=True)
class HuntSetup:
    """The set-up of a hunt.

    plan: seed, exchange, mix, operators, pace, and the conditions, of which the hunt uses fading,
    noise and receiver. own_call, voice, watts: of the trainee. minutes: length. bands: presets in
    full, so that a recorded hunt can be replayed after they have changed. weekend: 0 to 1.

    Raises: UserError for a wrong call, an unknown voice or a value out of range.
    """

    plan: Plan
    own_call: str
    voice: str
    watts: float
    minutes: float
    bands: tuple[BandKind, ...]
    weekend: float
    values: HuntValues

    def __post_init__(self) -> None:
        """Check every value."""
        own_callsign(self.own_call)
        find_operator(self.voice)
        within("watts", self.watts, MIN_WATTS, MAX_WATTS, "W", label="power")
        within("minutes", self.minutes, 0.1, LONGEST_MINUTES, "min", label="length")
        within("weekend", self.weekend, 0, 1, label="part of the weekend")
        if not 1 <= len(self.bands) <= MAX_BANDS:
            raise UserError(
                f"{len(self.bands)} bands; choose 1 to {MAX_BANDS}", field="bands", kind="wrong"
            )

    def lower_hz(self, index: int) -> float:
        """Return the lower edge of a band; index: from 0."""
        return LOWER_EDGES_HZ[index]

    def own_speaker(self, number: int) -> Speaker:
        """Return the trainee as a speaker after `number` logged contacts.

        The serial number is one more; the other fields stay the same for the whole hunt.
        """
        rng = Random(f"faintcall hunt {self.plan.seed} own")
        composed = self.plan.load_exchange().compose(rng, own_callsign(self.own_call), progress=0)
        return Speaker(
            call=self.own_call,
            fields=tuple(own_field(field, number) for field in composed),
            operator=find_operator(self.voice),
        )

    def to_dict(self) -> dict[str, Any]:
        """Return the set-up without its plan, as data for JSON."""
        names = ("own_call", "voice", "watts", "minutes", "bands", "weekend", "values")
        return {name: to_data(getattr(self, name)) for name in names}

    @classmethod
    def from_dict(cls, plan: Mapping[str, Any], data: Mapping[str, Any]) -> Self:
        """Return the set-up from stored data. Raises: UserError."""
        return cls(
            plan=Plan.from_dict(plan),
            own_call=data["own_call"],
            voice=data["voice"],
            watts=data["watts"],
            minutes=data["minutes"],
            bands=tuple(from_data(BandKind, kind, "bands") for kind in data["bands"]),
            weekend=data["weekend"],
            values=recorded_hunt_values(data["values"]),
        )


def create_hunt_setup(options: SessionOptions, choice: HuntOptions) -> HuntSetup:
    """Return the set-up of a new hunt.

    Raises: UserError for an option that is wrong or not taken by hunts; NoVoice.
    """
    for name in sorted(options.given - HUNT_OPTIONS):
        raise UserError(
            f"a hunt does not take {name!r}: the stations follow from the bands; leave it out",
            field=name,
            kind="not_taken",
        )
    within("minutes", choice.minutes, *MINUTES_RANGE, "min", label="length")
    plan = plan_from_options(replace(options, part="over", watts=None), default_count=1)
    conditions = replace(plan.conditions, snr_db=Conditions().snr_db, neighbours=())
    return HuntSetup(
        plan=replace(plan, conditions=conditions),
        own_call=own_call_or_offered(choice.call),
        voice=choice.voice or default_own_voice(),
        watts=DEFAULT_WATTS if options.watts is None else options.watts,
        minutes=choice.minutes,
        bands=tuple(find_band_kind(name) for name in choice.bands),
        weekend=choice.weekend,
        values=load_hunt_values(),
    )
