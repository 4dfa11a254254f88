"""Plays many contacts with the scripted trainee and writes their table.

python -m tests.tools.contact_table [--seeds N] [--into FILE]
"""

import argparse
from collections.abc import Iterator
from dataclasses import dataclass

from drill.contact.debrief import contact_result
from drill.contact.live import LOGGED, LiveContact
from drill.contact.scripted_operator import Manners
from drill.contact.values import EarValues, load_values
from tests.drill.contact.scripted_trainee import ScriptedTrainee, make_frequency
from tests.tools.tables import write_table

WATTS = (100.0, 20.0, 5.0)
PATHS_DB = (20.0, 12.0, 6.0)
CALLERS = (0, 2)
SIMULATION = {
    (0, 20.0): ("1.00/1.00/5.1/10", "1.00/1.00/5.1/10", "1.00/.99/5.5/11"),
    (0, 12.0): ("1.00/1.00/5.2/10", "1.00/.98/5.7/12", ".99/.96/7.6/18"),
    (0, 6.0): ("1.00/.99/5.5/12", ".99/.96/7.6/19", ".68/.61/11.7/33"),
    (2, 20.0): (".98/.97/5.5/10", ".96/.94/5.9/10", ".93/.91/6.4/11"),
    (2, 12.0): (".95/.93/6.0/10", ".93/.92/6.7/12", ".83/.78/8.7/18"),
    (2, 6.0): (".93/.92/6.6/11", ".83/.78/8.7/18", ".43/.39/11.9/27"),
}
"""Results of an independent simulation with the same values, 300 seeds a cell, made once: see
tests/measured/contact.md."""


@dataclass(frozen=True, kw_only=True)
class Cell:
    """Contacts of one kind: shares of those begun, means over those logged."""

    logged: float
    right: float
    overs: float
    seconds: float

    def __str__(self) -> str:
        """Return the four figures, as in the table."""
        shares = "/".join(
            "1.00" if share > 0.995 else f"{share:.2f}".lstrip("0")
            for share in (self.logged, self.right)
        )
        return f"{shares}/{self.overs:.1f}/{self.seconds:.0f}"


def play_cell(
    seeds: int,
    *,
    watts: float,
    path_snr_db: float,
    callers: int = 0,
    manners: Manners | None = None,
    far_ears: EarValues | None = None,
) -> Cell:
    """Return the figures of one contact for each seed; far_ears: as in make_frequency."""
    results = []
    for seed in range(seeds):
        contact = LiveContact(
            make_frequency(
                seed, watts=watts, path_snr_db=path_snr_db, callers=callers, far_ears=far_ears
            )
        )
        ScriptedTrainee(contact, manners).run()
        results.append(contact_result(contact, place=0))
    logged = [result for result in results if result.ended == LOGGED]
    count = max(1, len(logged))
    return Cell(
        logged=len(logged) / seeds,
        right=sum(result.logs.is_right for result in results) / seeds,
        overs=sum(result.overs for result in logged) / count,
        seconds=sum(result.seconds for result in logged) / count,
    )


def table(seeds: int) -> Iterator[str]:
    """Yield the lines of the table."""
    yield "| callers | path, dB | | 100 W | 20 W | 5 W |"
    yield "|---|---|---|---|---|---|"
    for callers in CALLERS:
        for path_db in PATHS_DB:
            for name, ears in EARS.items():
                cells = [
                    str(
                        play_cell(
                            seeds, watts=watts, path_snr_db=path_db, callers=callers, far_ears=ears
                        )
                    )
                    for watts in WATTS
                ]
                yield f"| {callers} | {path_db:+.0f} | {name} | {' | '.join(cells)} |"
            yield f"| | | simulation | {' | '.join(SIMULATION[callers, path_db])} |"
    yield ""
    yield "Variants at +12 dB and 5 W, 2 other callers, here:"
    yield ""
    yield "| trainee | logged/right/overs/seconds |"
    yield "|---|---|"
    for name, manners in VARIANTS.items():
        cell = play_cell(seeds, watts=5.0, path_snr_db=12.0, callers=2, manners=manners)
        yield f"| {name} | {cell} |"


EARS = {"here": load_values().ears, "recogniser": load_values().recogniser}
"""Hearing of the far operator: a trained listener as in the simulation, and the measured
recogniser."""
VARIANTS = {
    "plays by the rules": Manners(),
    "calls over others": Manners(calls_over_others=True),
    "never mends": Manners(mends=False),
    "says its call twice, unasked": Manners(doubles=True),
}


def main() -> None:
    """Play, print and write."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--seeds", type=int, default=300)
    parser.add_argument("--into", metavar="FILE")
    options = parser.parse_args()
    write_table(options.into, "contacts", list(table(options.seeds)))


if __name__ == "__main__":
    main()
