"""The scripted operator as a trainee: plays contacts of a known strength to their end."""

from dataclasses import replace
from functools import cache

from drill.contact.acts import LEAVE, LOG, NOTE, Act
from drill.contact.air import samples
from drill.contact.frequency import Frequency, Trainee
from drill.contact.live import LiveContact
from drill.contact.model_air import ModelAir
from drill.contact.model_ears import ModelEars
from drill.contact.overs import FAR, TRAINEE, Speaker
from drill.contact.scripted_operator import Manners, ScriptedOperator
from drill.contact.stations import FarStation, compose_station
from drill.contact.values import ContactValues, EarValues, load_values
from drill.core.conditions import Conditions, Fading
from drill.items.plan import Plan
from phonetics.message import Field

OWN = Speaker(
    call="E87ABC",
    fields=(
        Field(name="report", kind="report", text="59", optional_if="59"),
        Field(name="serial", kind="serial", text="034"),
    ),
)
FADING = Fading(name="mid-moderate", delay_ms=1.0, spread_hz=0.5)
PLAN = Plan(
    seed=1,
    count=10,
    part="over",
    mix="unassigned",
    conditions=Conditions(fading=FADING),
    voices=("birch", "maple"),
)


def make_frequency(
    seed: int,
    *,
    watts: float,
    path_snr_db: float,
    callers: int = 0,
    near_db: float = 20.0,
    values: ContactValues | None = None,
    plan: Plan = PLAN,
    far_ears: EarValues | None = None,
) -> Frequency:
    """Return a frequency on the accelerated clock, with a path of a known mean strength.

    far_ears: values of the far operator's hearing, None for those of a trained listener.
    """
    values = values or quiet_values()
    station = compose_station(
        replace(plan, seed=seed), values, number=0, place=0, path_mean_db=path_snr_db
    )
    noise_db = near_db - (station.near_db - station.noise_above_db)
    station = replace(station, callers=callers, noise_above_db=noise_db)
    return frequency_of(station, watts=watts, values=values, plan=plan, far_ears=far_ears)


@cache
def quiet_values() -> ContactValues:
    """Return the packaged values for one path strength, without new callers or a time limit."""
    return load_values(
        {
            "path.sd_db": 0.0,
            "station.callers_per_hour": 0.0,
            "station.stays_s": 400.0,
            "station.busy_share": 0.0,
        }
    )


def frequency_of(
    station: FarStation,
    *,
    watts: float,
    values: ContactValues,
    plan: Plan = PLAN,
    far_ears: EarValues | None = None,
) -> Frequency:
    """Return a frequency on the accelerated clock; far_ears: as in make_frequency."""
    ears = ModelEars(
        far_ears or values.ears,
        station.ear_offset_db,
        lambda speaker, number: station.stream(f"ears {speaker} {number}"),
    )
    pace = max(0.7, 1 + values.speech.pace_sd * station.stream("own pace").gauss(0, 1))
    return Frequency(
        station=station,
        trainee=Trainee(speaker=OWN, watts=watts, pace=pace),
        plan=plan,
        exchange=plan.load_exchange(),
        values=values,
        air=ModelAir(values, plan.conditions.fading),
        ears=ears,
    )


class ScriptedTrainee:
    """Plays one contact to its end; `run` returns the contact."""

    def __init__(self, contact: LiveContact, manners: Manners | None = None) -> None:
        """Prepare for a contact."""
        self.contact = contact
        station, values = contact.frequency.station, contact.frequency.values
        offset_db = values.ears.station_sd_db * station.stream("own ears").gauss(0, 1)
        self.operator = ScriptedOperator(
            self,
            own_call=OWN.call,
            values=values,
            ears=ModelEars(
                values.ears,
                offset_db,
                lambda speaker, number: station.stream(f"own ears {speaker} {number}"),
            ),
            seed=station.seed,
            manners=manners or Manners(),
        )
        self.heard_overs: set[int] = set()

    def run(self, limit_s: float = 400.0) -> LiveContact:
        """Play until the contact has ended."""
        contact, operator = self.contact, self.operator
        while not contact.ended:
            times = [at for at in (contact.next_at, operator.next_at) if at is not None]
            if not times or min(times) > samples(limit_s):
                self.leave()
                break
            contact.advance(min(times))
            self.listen()
            if not contact.ended:
                operator.tick()
        return contact

    def listen(self) -> None:
        frequency = self.contact.frequency
        for over in frequency.trace:
            if over.speaker != FAR or id(over) in self.heard_overs or over.end > self.contact.now:
                continue
            self.heard_overs.add(id(over))
            if not self.contact.is_sending:
                mine = [o.end for o in frequency.trace if o.speaker == TRAINEE]
                others = frequency.recent(without=TRAINEE)
                start = max([0, *mine])
                self.operator.hear(
                    over,
                    frequency.air.receive("near", others, start, self.contact.now, told=[over]),
                )

    # --- the rig

    @property
    def now(self) -> int:
        return self.contact.now

    @property
    def far_is_sending(self) -> bool:
        return self.contact.frequency.is_on_air(FAR)

    def act(self, kind: str, text: str = "") -> None:
        self.contact.act(Act(at=self.contact.now, kind=kind, text=text))

    @property
    def own_end(self) -> int | None:
        mine = [o.end for o in self.contact.frequency.trace if o.speaker == TRAINEE]
        return mine[-1] if mine else None

    def say(self, kind: str) -> None:
        self.act(kind)

    def note(self, text: str) -> None:
        self.act(NOTE, text)

    def log(self) -> None:
        self.act(LOG)

    def leave(self) -> None:
        self.act(LEAVE)
