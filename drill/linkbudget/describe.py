"""What a link budget tells, in sentences and tables."""

from dataclasses import replace

from drill.core.text_blocks import Table
from drill.linkbudget.budget import (
    GRADES,
    PEP_OVER_SPEECH_DB,
    Circuit,
    Signal,
    budget,
    grade,
    reception_cost_db,
    watts_to_snr,
)

LADDER_W = (100.0, 20.0, 5.0)
NO_CIRCUIT = (
    "This plans no actual circuit: it compares assumptions. Power and operation are subject to "
    "your licence and to local rules."
)


def sentences(circuit: Circuit) -> list[str]:
    """Return in words what the figures rest on, what is lost, and what they are not."""
    both = budget(circuit)
    here = circuit.here
    audio = ", ".join(f"{snr:g}" for _, snr, *_ in GRADES)
    return [
        f"My signal arrives there with {both.mine_there.snr_db:+z.1f} dB SNR in 3 kHz, theirs here "
        f"with {both.theirs_here.snr_db:+z.1f} dB.",
        f"The path: {circuit.frequency_mhz:g} MHz; 100 W with reference antennas and no losses "
        f"give {circuit.path_snr_db:+.1f} dB there. Noise: {here.category} here, "
        f"{circuit.there.category} there.",
        f"Lost here in transmission: shortening {here.short_db:.1f} dB, line {here.line_db:.1f} "
        f"dB. Lost in reception: {reception_cost_db(here, circuit.frequency_mhz):.1f} dB of "
        "SNR, since noise from outside is lost along with the signal.",
        f"dB-Hz is PEP against noise in 1 Hz, the PEP {PEP_OVER_SPEECH_DB:g} dB over the "
        "unprocessed speech. F.339 grades by dB-Hz, with PEP nearer to the speech: generous here. "
        f"By SNR in 3 kHz it asks for {audio} dB.",
        NO_CIRCUIT,
    ]


HEAD = ("watts", "SNR in 3 kHz, dB", "dB-Hz", "F.339 grade, steady", "F.339 grade, fading")


def directions(circuit: Circuit) -> Table:
    """Return the table of both directions."""
    both = budget(circuit)
    return Table(
        caption="Both directions",
        head=("direction", *HEAD),
        rows=(
            ("my signal there", *_cells(both.mine_there)),
            ("their signal here", *_cells(both.theirs_here)),
        ),
    )


def ladder(circuit: Circuit) -> Table:
    """Return the table of what other powers would give at the far end."""
    rows = []
    for watts in sorted({*LADDER_W, circuit.here.watts}, reverse=True):
        other = replace(circuit, here=replace(circuit.here, watts=watts))
        against = watts_to_snr(0, watts)
        rows.append((f"{against:+z.1f} dB", *_cells(budget(other).mine_there)))
    return Table(
        caption="My signal there with other powers, all else the same",
        head=("against 100 W", *HEAD),
        rows=tuple(rows),
    )


def _cells(signal: Signal) -> tuple[str, ...]:
    density = signal.pep_to_density_dbhz
    return (
        f"{signal.watts:g}",
        f"{signal.snr_db:+z.1f}",
        f"{density:.1f}",
        grade(density, fading=False),
        grade(density, fading=True),
    )
