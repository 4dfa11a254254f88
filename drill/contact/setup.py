"""The set-up of a session of contacts: everything that determines its stations."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from random import Random
from typing import Any, Self

from drill import voices
from drill.contact.overs import Speaker
from drill.contact.stations import FarStation, compose_station
from drill.contact.values import ContactValues, load_values, recorded_values
from drill.core.conditions import Conditions
from drill.core.errors import UserError
from drill.core.structuring import to_data
from drill.core.validation import integer_within, one_of, within
from drill.items.plan import Plan
from drill.linkbudget.budget import MAX_WATTS, MIN_WATTS
from drill.session.options import SessionOptions, plan_from_options
from drill.voices.operators import find_operator
from phonetics.callsigns import Callsign, parse_callsign
from phonetics.exchanges import USUAL_REPORT
from phonetics.message import Field

LADDER_WATTS = (100.0, 20.0, 5.0)
DEFAULT_WATTS = 5.0
DEFAULT_COUNT = 10
DEFAULT_CONDITIONS = "usual-day"
OFFERED_CALL = "E87ABC"
"""Call for a trainee who has given none; E8 is in no series of Appendix 42."""
EARS = ("recogniser", "model")
"""Ears of the far operator: recognition of the sound itself, or a psychometric model."""
OWN_VOICES = ("willow", "meadow", "pebble", "tin")
"""Voices that speak for the trainee if none is chosen; the first that works here is used."""
MAX_STATIONS = 100
TAKEN_OPTIONS = frozenset(
    {
        *("exchange", "mix", "alternates", "count", "seed", "pace", "voices", "conditions"),
        *("fading", "filter", "processing", "off_frequency_hz", "static_db"),
        *("watts", "path_snr_db"),
    }
)


@dataclass(frozen=True, kw_only=True, slots=True)
class ContactOptions:
    """The user's options besides those of every session.

    call: the user's own call, "" for OFFERED_CALL. voice: operator that speaks for the trainee, ""
    for the first of OWN_VOICES. ears: one of EARS. ladder: meet every station at each of
    LADDER_WATTS.
    """

    call: str = ""
    voice: str = ""
    ears: str = EARS[0]
    ladder: bool = False


@dataclass(frozen=True, kw_only=True, slots=True)
class Slot:
    """One contact of a session: number of its station's place, from 0, and the trainee's power."""

    place: int
    watts: float


@dataclass(frozen=True, kw_only=True)
class ContactSetup:
    """The set-up of a session.

    plan: the words, operators and conditions; its count is the number of stations. path_mean_db:
    mean SNR at the far end at 100 W. watts: one power, or several in mixed order. values: the
    parameters of the simulation, stored so that a later version can replay a recorded session.

    Raises: UserError for a wrong call, an unknown voice or kind of ears, or a value out of range.
    """

    plan: Plan
    own_call: str
    voice: str
    ears: str
    watts: tuple[float, ...]
    path_mean_db: float
    values: ContactValues

    def __post_init__(self) -> None:
        """Check every value."""
        own_callsign(self.own_call)
        find_operator(self.voice)
        one_of("ears", self.ears, EARS)
        integer_within("count", self.plan.count, 1, MAX_STATIONS, label="number of stations")
        within("path_snr_db", self.path_mean_db, -20, 60, "dB", label="SNR of the path")
        for watts in self.watts:
            within("watts", watts, MIN_WATTS, MAX_WATTS, "W", label="power")

    @property
    def count(self) -> int:
        """Number of contacts."""
        return self.plan.count * len(self.watts)

    def slot(self, number: int) -> Slot:
        """Return place and power of a contact; several powers come in mixed order."""
        slots = [
            Slot(place=place, watts=watts)
            for place in range(self.plan.count)
            for watts in self.watts
        ]
        if len(self.watts) > 1:
            Random(f"faintcall contact {self.plan.seed} ladder").shuffle(slots)
        return slots[number]

    def station(self, number: int) -> FarStation:
        """Return the far station of a contact.

        With several powers the same place occurs several times, with the same path, noise, ears,
        habits and callers. Its call and exchange are new each time, because the trainee would
        otherwise know them.
        """
        return compose_station(
            self.plan,
            self.values,
            number=number,
            place=self.slot(number).place,
            path_mean_db=self.path_mean_db,
        )

    def own_speaker(self, number: int) -> Speaker:
        """Return the trainee as a speaker in a contact; serial numbers rise with its number."""
        rng = Random(f"faintcall contact {self.plan.seed} own {number}")
        callsign = own_callsign(self.own_call)
        composed = self.plan.load_exchange().compose(rng, callsign, progress=number)
        return Speaker(
            call=self.own_call,
            fields=tuple(own_field(field, number) for field in composed),
            operator=find_operator(self.voice),
        )

    def to_dict(self) -> dict[str, Any]:
        """Return the set-up without its plan, as data for JSON."""
        return {
            name: to_data(getattr(self, name))
            for name in ("own_call", "voice", "ears", "watts", "path_mean_db", "values")
        }

    @classmethod
    def from_dict(cls, plan: Mapping[str, Any], data: Mapping[str, Any]) -> Self:
        """Return the set-up from stored data. Raises: UserError."""
        return cls(
            plan=Plan.from_dict(plan),
            own_call=data["own_call"],
            voice=data["voice"],
            ears=data["ears"],
            watts=tuple(data["watts"]),
            path_mean_db=data["path_mean_db"],
            values=recorded_values(data["values"]),
        )


def own_call_or_offered(text: str) -> str:
    """Return a typed call in capitals and without spaces, OFFERED_CALL if there is none."""
    return "".join(text.upper().split()) or OFFERED_CALL


def own_callsign(text: str) -> Callsign:
    """Return the trainee's call in parts. Raises: UserError with field "call"."""
    try:
        return parse_callsign(text)
    except ValueError as error:
        raise UserError(f"own call: {error}", field="call") from None


def own_field(field: Field, number: int) -> Field:
    """Return a field of the trainee's exchange; a report and a serial number get their value."""
    if field.kind == "report":
        return replace(field, text=USUAL_REPORT)
    return replace(field, text=f"{number + 1:03d}") if field.kind == "serial" else field


def create_setup(options: SessionOptions, choice: ContactOptions) -> ContactSetup:
    """Return the set-up of a new session.

    Raises: UserError for an option that is wrong or not taken by contacts; NoVoice.
    """
    for name in sorted(options.given - TAKEN_OPTIONS):
        raise UserError(
            f"a session of contacts does not take {name!r}: both ends follow from your power and "
            "the path; leave it out",
            field=name,
            kind="not_taken",
        )
    values = load_values()
    said = replace(options, part="over", watts=None, path_snr_db=None)
    plan = plan_from_options(said, default_count=DEFAULT_COUNT)
    plan = replace(plan, conditions=replace(plan.conditions, snr_db=Conditions().snr_db))
    watts: tuple[float, ...] = LADDER_WATTS
    if not choice.ladder:
        watts = (DEFAULT_WATTS if options.watts is None else options.watts,)
    elif options.watts is not None:
        raise UserError(
            "a ladder sets the power itself: 100, 20 and 5 W; leave out the power", field="watts"
        )
    path_mean_db = values.path.mean_db if options.path_snr_db is None else options.path_snr_db
    return ContactSetup(
        plan=plan,
        own_call=own_call_or_offered(choice.call),
        voice=choice.voice or default_own_voice(),
        ears=choice.ears,
        watts=watts,
        path_mean_db=path_mean_db,
        values=values,
    )


def default_own_voice() -> str:
    """Return the first of OWN_VOICES that works on this computer. Raises: NoVoice."""
    candidates = [find_operator(name) for name in OWN_VOICES]
    return voices.usable_operators(candidates)[0].name
