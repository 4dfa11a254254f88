"""The far stations of a session, composed from its plan: their identity and their signals."""

import math
from dataclasses import dataclass, replace
from random import Random

from drill.contact.air import Participant
from drill.contact.overs import FAR, Speaker
from drill.contact.values import ContactValues
from drill.core.conditions import Conditions
from drill.core.models import Transmission
from drill.items.plan import Plan, compose_item
from drill.linkbudget.budget import snr_from_watts
from drill.voices.people.habits import over_style_for


@dataclass(frozen=True, kw_only=True, slots=True)
class FarStation:
    """A far station, its path and its callers, all drawn from the seed.

    seed: of every random stream of this contact. path_snr_db: SNR at the far end at 100 W. near_db:
    SNR of the station at the trainee. noise_above_db: its noise above the trainee's. ear_offset_db:
    threshold of its ears above the mean. callers: number of callers at the start. is_busy: the
    station is ending another contact when the trainee tunes in. neighbours: transmissions of the
    stations beside the frequency. counts_contacts: its serial number rises with its contacts.
    """

    seed: int
    speaker: Speaker
    watts: float
    path_snr_db: float
    noise_above_db: float
    ear_offset_db: float
    callers: int
    is_busy: bool
    pace: float
    off_frequency_hz: float
    conditions: Conditions
    neighbours: tuple[Transmission, ...] = ()
    counts_contacts: bool = False

    def speaker_after(self, contacts: int) -> Speaker:
        """Return the station as a speaker after it has logged a number of contacts."""
        if not (self.counts_contacts and contacts):
            return self.speaker
        return replace(
            self.speaker,
            fields=tuple(
                replace(field, text=f"{int(field.text) + contacts:03d}")
                if field.kind == "serial"
                else field
                for field in self.speaker.fields
            ),
        )

    @property
    def near_db(self) -> float:
        """SNR of the station at the trainee's receiver, before fading, in 3 kHz.

        By reciprocity the path is the same in both directions; power and noise differ.
        """
        return snr_from_watts(self.path_snr_db, self.watts) + self.noise_above_db

    def far_db(self, watts: float) -> float:
        """Return the trainee's SNR at the far end, before fading, in 3 kHz."""
        return snr_from_watts(self.path_snr_db, watts)

    def stream(self, purpose: str) -> Random:
        """Return the random stream for one purpose; it does not depend on the power."""
        return Random(f"faintcall contact {self.seed} {purpose}")

    def participant(self) -> Participant:
        """Return the station as a participant on the air."""
        return Participant(
            name=FAR,
            path_seed=self.path_seed,
            near_db=self.near_db,
            pace=self.pace,
            operator=self.speaker.operator,
            off_frequency_hz=self.off_frequency_hz,
            processing=self.conditions.transmitter.processing,
        )

    @property
    def path_seed(self) -> int:
        """Seed of the fading between station and trainee, the same in both directions."""
        return self.stream("path").getrandbits(40)


def compose_station(
    plan: Plan, values: ContactValues, *, number: int, place: int, path_mean_db: float
) -> FarStation:
    """Return a far station of a session.

    number: from 0; determines call, exchange, operator and words. place: from 0; determines path,
    noise, ears, callers and habits, so that several powers can meet the same place. path_mean_db:
    mean SNR at the far end at 100 W.
    """
    item = compose_item(plan, number)
    over_rng = Random(f"faintcall contact {plan.seed} style {number}")
    speaker = Speaker(
        call=item.message.call,
        fields=item.message.fields[0 if plan.load_exchange().has_call else 1 :],
        operator=item.operator,
        over_style=replace(
            over_style_for(item.operator, over_rng, alternates=plan.alternates), repeat_call=False
        ),
    )
    seed = Random(f"faintcall contact {plan.seed} place {place}").getrandbits(48)
    path, station = values.path, values.station

    def normal(purpose: str) -> float:
        return Random(f"faintcall contact {seed} {purpose}").gauss(0, 1)

    phase = 2 * math.pi * Random(f"faintcall contact {seed} drift").random()
    drift_db = path.drift_sd_db * math.sqrt(2) * math.sin(phase)
    choice = Random(f"faintcall contact {seed} station")
    watts = choice.choices(station.watts, station.watts_weights)[0]
    callers = choice.choices(range(len(station.callers_weights)), station.callers_weights)[0]
    mistuning_hz = max(-150.0, min(150.0, path.mistuning_sd_hz * normal("mistuning")))
    return FarStation(
        seed=seed,
        speaker=speaker,
        watts=watts,
        path_snr_db=path_mean_db + path.sd_db * normal("path strength") + drift_db,
        noise_above_db=station.noise_mean_db + station.noise_sd_db * normal("noise"),
        ear_offset_db=values.ears.station_sd_db * normal("ears"),
        callers=callers,
        is_busy=choice.random() < station.busy_share,
        pace=max(0.7, 1 + values.speech.pace_sd * normal("pace")),
        off_frequency_hz=plan.conditions.transmitter.off_frequency_hz + round(mistuning_hz, 1),
        conditions=plan.conditions,
        neighbours=item.neighbours,
    )
