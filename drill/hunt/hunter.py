"""A scripted hunter: it works a hunt by a policy, and shows how many contacts are possible.

It acts only as a person could: it tunes, listens by the model of hearing to its receiver, calls,
copies and logs. It learns a station's strength when it tunes past it.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from random import Random
from types import MappingProxyType

from drill.contact.air import samples
from drill.hunt.acts import TUNE, HuntAct
from drill.hunt.band import Holder
from drill.hunt.live import LiveHunt
from drill.hunt.setup import HuntSetup
from drill.hunt.visit import Patience, Visit
from drill.radio import AUDIO_RATE_HZ

TUNING_SD_HZ = 20.0
"""SD of its error when it tunes to a voice, in Hz."""
IDLE_S = 10.0
"""Pause if there is no station to go to."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Policy:
    """How a hunter chooses stations.

    strongest: the strongest station first, else the next one up the band. avoids_callers: leaves a
    station at which it hears callers, and leaves sooner.
    """

    strongest: bool
    avoids_callers: bool


POLICIES: Mapping[str, Policy] = MappingProxyType(
    {
        "first": Policy(strongest=False, avoids_callers=False),
        "strongest": Policy(strongest=True, avoids_callers=False),
        "strong-without-callers": Policy(strongest=True, avoids_callers=True),
    }
)


def run_hunter(setup: HuntSetup, policy: str = "strongest") -> LiveHunt:
    """Return a hunt that a scripted hunter has worked to its end, on the accelerated clock.

    policy: a key of POLICIES.
    """
    live = LiveHunt(setup)
    Hunter(live, POLICIES[policy]).run()
    return live


class Hunter:
    """A hunter at work; `run` ends with the hunt."""

    def __init__(self, live: LiveHunt, policy: Policy) -> None:
        """Prepare for a hunt that has just begun."""
        self._live, self._policy = live, policy
        self._values = live.setup.values.hunter
        quick = policy.avoids_callers
        self._patience = Patience(
            wait_s=self._values.short_patience_s if quick else self._values.patience_s,
            longest_s=self._values.longest_stop_s,
            max_calls=self._values.max_calls,
            avoided_callers=self._values.callers_avoided if quick else None,
        )
        self._worked: set[int] = set()
        self._visits: dict[int, int] = {}
        self._not_before: dict[int, int] = {}
        self._levels_db: dict[int, float] = {}
        self._swept_at: int | None = None
        self._rng = Random(f"faintcall hunt {live.setup.plan.seed} hunter")

    def run(self) -> None:
        """Hunt until the time is over."""
        live = self._live
        while not live.ended:
            if self._policy.strongest and self._is_sweep_due():
                self._sweep()
                continue
            holder = self._choose()
            if holder is None:
                live.advance(live.now + samples(IDLE_S))
                continue
            self._tune_to(holder, self._hop_s(holder))
            visit = Visit(live, live.channels[holder.number], self._patience)
            visit.run()
            if visit.is_logged:
                self._worked.add(holder.number)
            else:
                self._come_back_later(holder)

    def _come_back_later(self, holder: Holder) -> None:
        """Leave a station for a time that doubles with each visit."""
        visits = self._visits.get(holder.number, 0)
        self._visits[holder.number] = visits + 1
        wait_s = self._values.return_after_s * 2**visits * self._rng.uniform(0.8, 1.2)
        self._not_before[holder.number] = self._live.now + samples(wait_s)

    # --- choosing

    def _is_sweep_due(self) -> bool:
        every = samples(self._values.sweep_every_s)
        return self._swept_at is None or self._live.now - self._swept_at > every

    def _sweep(self) -> None:
        """Pass every station, and note its level."""
        self._swept_at = self._live.now
        self._levels_db = {}
        for holder in self._stations():
            self._tune_to(holder, self._values.look_s)
            self._levels_db[holder.number] = self._level_db(holder)

    def _stations(self) -> list[Holder]:
        """Return the stations that call at this time, from the lowest frequency up."""
        now_s = self._live.now / AUDIO_RATE_HZ
        holders = (channel.holder for channel in self._live.channels.values())
        present = [h for h in holders if h.starts_s <= now_s < h.stops_s]
        return sorted(present, key=lambda holder: holder.carrier_hz)

    def _level_db(self, holder: Holder) -> float:
        return holder.near_db(self._live.now / AUDIO_RATE_HZ) - holder.splatter_db

    def _choose(self) -> Holder | None:
        """Return the next station, None if none is worth a stop now."""
        now, floor_db = self._live.now, self._values.floor_db
        free = [
            holder
            for holder in self._stations()
            if holder.number not in self._worked and self._not_before.get(holder.number, 0) <= now
        ]
        if self._policy.strongest:
            known = [h for h in free if self._levels_db.get(h.number, floor_db) > floor_db]
            return max(known, key=lambda h: self._levels_db[h.number], default=None)
        heard = [holder for holder in free if self._level_db(holder) > floor_db]
        above = [h for h in heard if h.carrier_hz > self._live.dial_hz + 2 * TUNING_SD_HZ]
        return min(above or heard, key=lambda h: h.carrier_hz, default=None)

    # --- tuning

    def _hop_s(self, holder: Holder) -> float:
        values = self._values
        khz = abs(holder.carrier_hz - self._live.dial_hz) / 1000
        return values.hop_s + min(values.hop_s_per_khz * khz, values.longest_hop_s)

    def _tune_to(self, holder: Holder, seconds: float) -> None:
        hz = round(holder.carrier_hz + self._rng.gauss(0, TUNING_SD_HZ), -1)
        at = self._live.now + samples(seconds)
        self._live.act(HuntAct(at=at, kind=TUNE, hz=hz))
