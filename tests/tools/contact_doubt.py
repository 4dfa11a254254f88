"""Measures how the far-end recogniser's limit of doubt affects whole contacts.

python -m tests.tools.contact_doubt [--seeds N] [--first SEED] [--into FILE]

The scripted trainee plays N contacts (default 20) at 100, 20 and 5 W and with each limit, with
rendered sound: the voice willow, +12 dB at the far end from 100 W, mid-moderate fading, no other
callers. The limit in values.toml was chosen on 20 other contacts; the seeds here begin at 1000.
"""

import argparse
from collections.abc import Iterator
from dataclasses import replace

from drill.contact.debrief import ContactResult, contact_result
from drill.contact.frequency import Frequency, Trainee
from drill.contact.live import LOGGED, LiveContact
from drill.contact.machine_ears import MachineEars, far_recogniser
from drill.contact.rendered_air import RenderedAir
from drill.contact.stations import compose_station
from drill.psychometrics.intervals import wilson_interval
from drill.voices.operators import find_operator
from tests.drill.contact.scripted_trainee import OWN, PLAN, ScriptedTrainee, quiet_values
from tests.tools.tables import write_table

WATTS = (100.0, 20.0, 5.0)
LIMITS = (0.5, 0.85)
PATH_DB, NEAR_DB = 12.0, 20.0
OWN_VOICE = "willow"


def rendered_frequency(seed: int, *, watts: float, doubt_below: float) -> Frequency:
    """Return a frequency whose far end recognises the rendered sound."""
    values = quiet_values()
    ear_values = replace(values.recogniser, doubt_below=doubt_below)
    plan = replace(PLAN, seed=seed)
    station = compose_station(plan, values, number=0, place=0, path_mean_db=PATH_DB)
    noise_db = NEAR_DB - (station.near_db - station.noise_above_db)
    station = replace(station, callers=0, noise_above_db=noise_db)
    exchange = plan.load_exchange()
    ears = MachineEars(far_recogniser(), ear_values, station.ear_offset_db, exchange)
    return Frequency(
        station=station,
        trainee=Trainee(speaker=replace(OWN, operator=find_operator(OWN_VOICE)), watts=watts),
        plan=plan,
        exchange=exchange,
        values=values,
        air=RenderedAir(station, far_shift_db=ears.far_shift_db),
        ears=ears,
    )


def play(seed: int, *, watts: float, doubt_below: float) -> ContactResult:
    """Return the result of one contact."""
    contact = LiveContact(rendered_frequency(seed, watts=watts, doubt_below=doubt_below))
    ScriptedTrainee(contact).run()
    return contact_result(contact, place=0)


def table(seeds: range) -> Iterator[str]:
    """Yield the lines of the table."""
    yield f"| limit | {' | '.join(f'{watts:g} W' for watts in WATTS)} |"
    yield "|---|---|---|---|"
    for limit in LIMITS:
        cells = []
        for watts in WATTS:
            results = [play(seed, watts=watts, doubt_below=limit) for seed in seeds]
            cells.append(_cell(results))
            print(limit, watts, cells[-1], flush=True)
        yield f"| {limit:g} | {' | '.join(cells)} |"


def _cell(results: list[ContactResult]) -> str:
    logged = [result for result in results if result.ended == LOGGED]
    right = sum(result.logs.is_right for result in results)
    interval = wilson_interval(right, len(results))
    count = max(1, len(logged))
    overs = sum(result.overs for result in logged) / count
    seconds = sum(result.seconds for result in logged) / count
    return (
        f"{len(logged)}/{right} ({100 * interval.low:.0f} to {100 * interval.high:.0f} %)/"
        f"{overs:.1f}/{seconds:.0f}"
    )


def main() -> None:
    """Play, print and write."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--seeds", type=int, default=20)
    parser.add_argument("--first", type=int, default=1000)
    parser.add_argument("--into", metavar="FILE")
    options = parser.parse_args()
    seeds = range(options.first, options.first + options.seeds)
    note = (
        f"Seeds {seeds[0]} to {seeds[-1]}, logged / right in both logs (95 % interval) / overs / "
        "seconds:"
    )
    write_table(options.into, "doubt", [note, "", *table(seeds)])


if __name__ == "__main__":
    main()
