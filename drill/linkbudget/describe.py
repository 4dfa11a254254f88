"""The link budget in sentences and tables, for terminal and page alike."""

from dataclasses import dataclass, replace

from drill.core.text_blocks import Table
from drill.linkbudget.budget import (
    Circuit,
    ReceivedSignal,
    link_budget,
    reception_cost_db,
    snr_from_watts,
)
from drill.linkbudget.grades import F339_GRADES, f339_grade
from drill.radio.levels import RATED_PEP_DB

COMPARED_WATTS = (100.0, 20.0, 5.0)
BUDGET_CAUTION = (
    "This compares assumptions; it does not plan an actual circuit. Power and operation are "
    "subject to your licence and local rules."
)
SIGNAL_HEADINGS = (
    "watts",
    "SNR in 3 kHz, dB",
    "dB-Hz",
    "F.339 grade, steady",
    "F.339 grade, fading",
)


@dataclass(frozen=True, kw_only=True, slots=True)
class BudgetDescription:
    """A link budget in words.

    summary: the result in one sentence. tables: both directions, and other powers. notes: the
    assumptions, the losses, the meaning of the units, and a caution.
    """

    summary: str
    tables: tuple[Table, ...]
    notes: tuple[str, ...]


def describe_budget(circuit: Circuit) -> BudgetDescription:
    """Return the link budget of a circuit in words. Raises: UserError as link_budget."""
    budget = link_budget(circuit)
    here = circuit.here
    *lower_snrs, highest_snr = (f"{grade.audio_snr_db:g}" for grade in F339_GRADES)
    return BudgetDescription(
        summary=f"My signal arrives there with an SNR of {budget.mine_there.snr_db:+z.1f} dB in "
        f"3 kHz, their signal here with {budget.theirs_here.snr_db:+z.1f} dB.",
        tables=(_directions_table(circuit), _powers_table(circuit)),
        notes=(
            f"Path: {circuit.frequency_mhz:g} MHz; 100 W with reference antennas and no losses "
            f"give {circuit.path_snr_db:+.1f} dB there. Man-made noise: {here.noise_category} "
            f"here, {circuit.there.noise_category} there.",
            f"My station: antenna {here.antenna_db:+.1f} dB in both directions. Losses on "
            f"transmit: shortening {here.shortening_loss_db:.1f} dB, feed line "
            f"{here.line_loss_db:.1f} dB. Losses on receive: "
            f"{reception_cost_db(here, circuit.frequency_mhz):.1f} dB of SNR, because they "
            "attenuate external noise along with the signal.",
            "SNR: active speech level relative to the noise in 3 kHz. dB-Hz: PEP relative to the "
            f"noise in 1 Hz, with the PEP {RATED_PEP_DB:g} dB above unprocessed speech. "
            "F.339 grades by dB-Hz and assumes a smaller difference, so these grades are "
            f"generous. By SNR in 3 kHz it requires {', '.join(lower_snrs)} and {highest_snr} dB.",
            BUDGET_CAUTION,
        ),
    )


def _directions_table(circuit: Circuit) -> Table:
    budget = link_budget(circuit)
    return Table(
        caption="Both directions",
        head=("direction", *SIGNAL_HEADINGS),
        rows=(
            ("my signal there", *_signal_cells(budget.mine_there)),
            ("their signal here", *_signal_cells(budget.theirs_here)),
        ),
    )


def _powers_table(circuit: Circuit) -> Table:
    """Return the table of my signal at the far end with other powers."""
    rows = []
    for watts in sorted({*COMPARED_WATTS, circuit.here.watts}, reverse=True):
        other = replace(circuit, here=replace(circuit.here, watts=watts))
        relative_db = snr_from_watts(0, watts)
        rows.append((f"{relative_db:+z.1f} dB", *_signal_cells(link_budget(other).mine_there)))
    return Table(
        caption="My signal there with other powers, all else equal",
        head=("relative to 100 W", *SIGNAL_HEADINGS),
        rows=tuple(rows),
    )


def _signal_cells(signal: ReceivedSignal) -> tuple[str, ...]:
    density_dbhz = signal.pep_to_density_dbhz
    return (
        f"{signal.watts:g}",
        f"{signal.snr_db:+z.1f}",
        f"{density_dbhz:.1f}",
        f339_grade(density_dbhz, fading=False),
        f339_grade(density_dbhz, fading=True),
    )
