"""The time that a station would have taken to answer the trainee, found by simulation.

The station is simulated several times from the moment in question, with its path and the number of
waiting callers at that moment, and with new random streams. A scripted operator calls it by the
rules until it answers.
"""

import math
from dataclasses import replace
from random import Random
from statistics import fmean

from drill.hunt.acts import TUNE, HuntAct
from drill.hunt.band import Band, Holder, LevelDrift
from drill.hunt.held_frequency import HeldFrequency
from drill.hunt.live import LiveHunt
from drill.hunt.results import LONGEST_EXPECTED_S, ExpectedTime
from drill.hunt.setup import HuntSetup
from drill.hunt.visit import Patience, Visit
from drill.radio import AUDIO_RATE_HZ

TRIALS = 10
LIMIT_S = LONGEST_EXPECTED_S
"""Time after which a trial without an answer ends. If half of the trials end so, there is no
expected time."""
BEFORE_S = (5.0, 25.0)
"""Shortest and longest time from the start of a trial until the operator listens, so that it can
meet any state of a contact."""
PERSISTENT = Patience(wait_s=LIMIT_S, longest_s=LIMIT_S, max_calls=1000)
STEADY = LevelDrift(size_db=0.0, period_s=1.0, phase=0.0)


class ExpectedTimes:
    """Expected times until stations of one hunt answer; the same arguments give the same result."""

    def __init__(self, setup: HuntSetup) -> None:
        """Prepare for hunts with this set-up."""
        self._setup = setup
        self._shadows: dict[int, HeldFrequency] = {}

    def expected_time(self, holder: Holder, at: int) -> ExpectedTime | None:
        """Return the time until the station answers a trainee who tunes in at a time in samples.

        None if it is not there, or if half of the trials pass LIMIT_S without an answer.
        """
        time_s = at / AUDIO_RATE_HZ
        if not holder.starts_s <= time_s < holder.stops_s:
            return None
        waiting = self._waiting_callers(holder, at)
        times: list[float] = []
        failed = 0
        while len(times) + failed < TRIALS:
            answered_s = self._trial(holder, time_s, waiting, len(times) + failed)
            if answered_s is None:
                failed += 1
            else:
                times.append(answered_s)
            if failed >= TRIALS / 2:
                return None
        ranked = sorted([*times, *[LIMIT_S] * failed])
        tail = len(ranked) // 10
        return ExpectedTime(
            mean_s=round(fmean(ranked), 1),
            low_s=round(ranked[tail], 1),
            high_s=round(ranked[-1 - tail], 1),
            n=len(ranked),
        )

    def _waiting_callers(self, holder: Holder, at: int) -> int:
        """Return how many callers wait at a time if the trainee never transmits."""
        shadow = self._shadows.get(holder.number)
        if shadow is None or shadow.frequency.now > at:
            shadow = HeldFrequency(
                holder,
                self._setup,
                speech=None,
                could_reach=lambda holder, ear: False,
                was_on_dial=lambda holder, over: False,
            )
            self._shadows[holder.number] = shadow
        shadow.catch_up(at)
        return len(shadow.frequency.callers)

    def _trial(self, holder: Holder, time_s: float, waiting: int, number: int) -> float | None:
        """Return the seconds until the answer in one simulation, None without one."""
        rng = Random(f"faintcall hunt expected {holder.station.seed} {time_s} {number}")
        slope = self._setup.values.world.caller_slope_per_db * holder.drift.slope_db_per_s
        station = replace(
            holder.station,
            seed=rng.getrandbits(48),
            path_snr_db=holder.station.path_snr_db + holder.drift.db(time_s),
            callers=waiting,
            is_busy=rng.random() < 0.5,
        )
        trial = replace(
            holder,
            starts_s=-rng.uniform(*BEFORE_S),
            stops_s=2 * LIMIT_S,
            callers_per_hour=holder.callers_per_hour * math.exp(min(0.0, slope) * time_s),
            drift=STEADY,
            station=station,
        )
        kind = self._setup.bands[holder.band]
        band = Band(kind=kind, index=0, lower_hz=holder.carrier_hz - 1000, holders=(trial,))
        live = LiveHunt(replace(self._setup, minutes=LIMIT_S / 60), bands=[band])
        live.act(HuntAct(at=0, kind=TUNE, hz=holder.carrier_hz))
        visit = Visit(live, live.channels[trial.number], PERSISTENT)
        visit.run(until_answered=True)
        answered = visit.operator.first_reply
        return None if answered is None else answered / AUDIO_RATE_HZ
