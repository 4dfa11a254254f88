"""A band composed from the set-up: its stations, each with its own random streams.

Each station and each purpose has a separate random stream, so that the same seed gives the same
band whatever the trainee's power is and whatever the trainee does.
"""

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from random import Random

import numpy as np

from drill.contact.overs import Speaker
from drill.contact.stations import FarStation
from drill.core.arrays import FloatArray
from drill.core.conditions import Transmitter
from drill.hunt.setup import HuntSetup
from drill.hunt.values import BandKind
from drill.voices.operators import draw_operator
from drill.voices.people.habits import over_style_for
from phonetics.callsign_mixes import compose_callsign

Stream = Callable[[str], Random]
"""Returns the random stream of one station for a purpose."""
PROCESSING_WEIGHTS = {"none": 3, "compressed": 5, "clipped": 2}
MICROPHONE_WEIGHTS = {"plain": 6, "bright": 3, "dull": 1}
OVERDRIVE_DB = 6.0
"""Greatest overdrive of a station in a contest. This and both weights: common practice, no
source."""
HOLDERS_PER_BAND = 1000
WARM_UP_S = (20.0, 80.0)
"""Shortest and longest time for which a station that is there at the start has been simulated
before."""


@dataclass(frozen=True, kw_only=True, slots=True)
class LevelDrift:
    """The slow change of a path, the same in both directions.

    size_db: amplitude of the sine. slope_db_per_s: change of the whole band.
    """

    size_db: float
    period_s: float
    phase: float
    slope_db_per_s: float = 0.0

    def db(self, time_s: float) -> float:
        """Return the change in dB at a time in seconds from the start of the hunt."""
        wave = math.sin(self.phase + 2 * math.pi * time_s / self.period_s)
        return self.size_db * wave + self.slope_db_per_s * time_s

    def db_over_time(self, times_s: FloatArray) -> FloatArray:
        """Return the change in dB at several times."""
        wave = np.sin(self.phase + 2 * np.pi * times_s / self.period_s)
        return np.asarray(self.size_db * wave + self.slope_db_per_s * times_s)


@dataclass(frozen=True, kw_only=True, slots=True)
class Holder:
    """A station that holds a frequency.

    number: unique in the hunt, from HOLDERS_PER_BAND times the index of its band. band: index of
    the band. carrier_hz: its carrier, on the scale of the dial. starts_s, stops_s: when it comes
    and when it stops calling, in seconds from the start of the hunt; starts_s is negative if it is
    there before. callers_per_hour: new callers at its start. is_wanted: it has several times as
    many. splatter_db: loss that its neighbours cause at the trainee's end, for hunters without
    sound.
    """

    number: int
    band: int
    carrier_hz: float
    starts_s: float
    stops_s: float
    callers_per_hour: float
    is_wanted: bool
    splatter_db: float
    drift: LevelDrift
    station: FarStation

    @property
    def call(self) -> str:
        """The call of the station."""
        return self.station.speaker.call

    def near_db(self, time_s: float) -> float:
        """Return its SNR in 3 kHz at the trainee's receiver, before short fading."""
        return self.station.near_db + self.drift.db(time_s)

    def far_db(self, watts: float, time_s: float) -> float:
        """Return the trainee's SNR in 3 kHz at its receiver, before short fading, when in tune."""
        return self.station.far_db(watts) + self.drift.db(time_s)


@dataclass(frozen=True, kw_only=True, slots=True)
class Band:
    """A band. lower_hz: its lower edge on the scale of the dial. holders: in order of number."""

    kind: BandKind
    index: int
    lower_hz: float
    holders: tuple[Holder, ...]

    @property
    def upper_hz(self) -> float:
        """Upper edge on the scale of the dial."""
        return self.lower_hz + 1000 * self.kind.width_khz


def compose_band(setup: HuntSetup, index: int) -> Band:
    """Return a band of a hunt; index: its place in the set-up, from 0."""
    kind = setup.bands[index]
    holders: list[Holder] = []
    calls: set[str] = {setup.own_call}
    for place in range(_station_count(setup, kind)):
        rng = _stream(setup, index, f"place {place}")
        for generation, (starts_s, stops_s) in enumerate(_stays(setup, kind, rng)):
            place_rng = _stream(setup, index, f"carrier {place} {generation}")
            place_hz = _place_hz(setup, kind, place, place_rng)
            holder = _compose_holder(
                setup,
                index,
                name=f"station {place} {generation}",
                number=HOLDERS_PER_BAND * index + len(holders),
                carrier_hz=setup.lower_hz(index) + place_hz,
                times_s=(starts_s, stops_s),
                taken=calls,
            )
            calls.add(holder.call)
            holders.append(holder)
    return Band(kind=kind, index=index, lower_hz=setup.lower_hz(index), holders=tuple(holders))


def _stream(setup: HuntSetup, index: int, purpose: str) -> Random:
    return Random(f"faintcall hunt {setup.plan.seed} band {index} {purpose}")


def _weekend_share(setup: HuntSetup) -> float:
    """Return the share of stations and callers that are still there at this time of a weekend."""
    return 1 - setup.values.world.weekend_thinning * setup.weekend


def _station_count(setup: HuntSetup, kind: BandKind) -> int:
    return max(1, round(kind.stations * _weekend_share(setup)))


def _place_hz(setup: HuntSetup, kind: BandKind, place: int, rng: Random) -> float:
    """Return a carrier's distance from the lower edge; neighbours keep some distance."""
    world, spacing_hz = setup.values.world, 1000 * kind.width_khz / _station_count(setup, kind)
    exact_hz = (place + 0.5 + rng.uniform(-0.3, 0.3)) * spacing_hz
    if rng.random() < world.anywhere_share:
        return round(exact_hz, 1)
    return round(500 * round(exact_hz / 500) + rng.gauss(0, world.place_sd_hz), 1)


def _stays(setup: HuntSetup, kind: BandKind, rng: Random) -> Iterator[tuple[float, float]]:
    """Yield the times at which the stations in one place begin and stop, in seconds."""
    world, end_s = setup.values.world, setup.minutes * 60
    time_s = -rng.uniform(*WARM_UP_S)
    stops_s = max(60.0, rng.expovariate(1 / world.stays_s))
    while True:
        yield time_s, stops_s
        time_s = stops_s + 10 + rng.expovariate(1 / world.free_s)
        stops_s = time_s + max(60.0, rng.expovariate(1 / world.stays_s))
        if time_s > end_s or rng.random() >= kind.successor_share * _weekend_share(setup) ** 0.5:
            return


def _compose_holder(
    setup: HuntSetup,
    index: int,
    *,
    name: str,
    number: int,
    carrier_hz: float,
    times_s: tuple[float, float],
    taken: set[str],
) -> Holder:
    """Return a station; name: of its random streams. taken: calls of other stations."""
    kind = setup.bands[index]

    def stream(purpose: str) -> Random:
        return _stream(setup, index, f"{name} {purpose}")

    strength_db = kind.sd_db * stream("strength").gauss(0, 1)
    wanted = stream("wanted").random() < kind.wanted_share
    rate = _caller_rate(setup, kind, strength_db, wanted=wanted)
    station = _compose_station(setup, kind, stream, rate=rate, strength_db=strength_db, taken=taken)
    if times_s[0] >= 0:
        station = replace(station, callers=0, is_busy=False)
    return Holder(
        number=number,
        band=index,
        carrier_hz=carrier_hz,
        starts_s=times_s[0],
        stops_s=times_s[1],
        callers_per_hour=rate,
        is_wanted=wanted,
        splatter_db=abs(stream("splatter").gauss(0, kind.splatter_db)),
        drift=_compose_drift(setup, kind, stream("drift")),
        station=station,
    )


def _caller_rate(setup: HuntSetup, kind: BandKind, strength_db: float, *, wanted: bool) -> float:
    """Return a station's new callers per hour. strength_db: relative to the median station."""
    world = setup.values.world
    rate = kind.callers_per_hour * math.exp(world.caller_slope_per_db * strength_db)
    rate *= _weekend_share(setup)
    if wanted:
        return min(rate * kind.wanted_factor, world.most_callers_of_wanted)
    return min(rate, world.most_callers_per_hour)


def _compose_drift(setup: HuntSetup, kind: BandKind, rng: Random) -> LevelDrift:
    world = setup.values.world
    return LevelDrift(
        size_db=setup.values.contact.path.drift_sd_db * math.sqrt(2),
        period_s=rng.uniform(world.drift_low_s, world.drift_high_s),
        phase=2 * math.pi * rng.random(),
        slope_db_per_s=kind.slope_db_per_hour / 3600,
    )


def _compose_station(
    setup: HuntSetup,
    kind: BandKind,
    stream: Stream,
    *,
    rate: float,
    strength_db: float,
    taken: set[str],
) -> FarStation:
    """Return the far station that was there before the hunt began."""
    world, contact = setup.values.world, setup.values.contact
    choice = stream("station")
    watts = choice.choices(contact.station.watts, contact.station.watts_weights)[0]
    noise_db = choice.gauss(contact.station.noise_mean_db, contact.station.noise_sd_db)
    noise_db += abs(choice.gauss(0, kind.splatter_db))
    return FarStation(
        seed=stream("contact").getrandbits(48),
        speaker=_compose_speaker(setup, stream, rate, taken),
        watts=watts,
        # The received level is drawn; the path follows from it, the power and the noise.
        path_snr_db=kind.median_db + strength_db - noise_db - 10 * math.log10(watts / 100),
        noise_above_db=noise_db,
        ear_offset_db=stream("ears").gauss(0, contact.ears.station_sd_db),
        callers=_waiting(
            world.longest_queue,
            min(world.most_load, rate / world.contacts_per_hour_limit),
            choice,
        ),
        is_busy=choice.random() < contact.station.busy_share,
        pace=max(0.7, 1 + stream("pace").gauss(0, contact.speech.pace_sd)),
        off_frequency_hz=0.0,
        conditions=replace(setup.plan.conditions, transmitter=_transmitter(stream("transmitter"))),
        counts_contacts=True,
    )


def _waiting(longest: int, load: float, rng: Random) -> int:
    """Return the callers that wait at the start, drawn from the queue of a server with this load.

    Source: number in an M/M/1 queue, geometric with the load as its ratio.
    """
    draw, waiting = rng.random(), 0
    while waiting < longest and draw < load:
        draw, waiting = rng.random(), waiting + 1
    return waiting


def _compose_speaker(setup: HuntSetup, stream: Stream, rate: float, taken: set[str]) -> Speaker:
    plan, rng = setup.plan, stream("call")
    call = compose_callsign(rng, mix=plan.call_mix)
    while call.text in taken:
        call = compose_callsign(rng, mix=plan.call_mix)
    operator = draw_operator(
        stream("operator"), plan.voices or None, call=call, pace=plan.pace, skip_slow_engines=True
    )
    hours = setup.values.world.hours_before * max(0.02, setup.weekend)
    made = int(stream("made").uniform(0.2, 0.9) * min(rate, 150.0) * hours)
    fields = plan.load_exchange().compose(stream("exchange"), call, progress=made)
    style = over_style_for(operator, stream("style"), alternates=plan.alternates)
    return Speaker(
        call=call.text,
        fields=fields,
        operator=operator,
        over_style=replace(style, repeat_call=False),
    )


def _transmitter(rng: Random) -> Transmitter:
    return Transmitter(
        processing=rng.choices(list(PROCESSING_WEIGHTS), list(PROCESSING_WEIGHTS.values()))[0],
        microphone=rng.choices(list(MICROPHONE_WEIGHTS), list(MICROPHONE_WEIGHTS.values()))[0],
        overdrive_db=round(max(0.0, rng.uniform(-OVERDRIVE_DB, OVERDRIVE_DB)), 1),
    )
