"""Three strengths that show how an SNR sounds: strong, readable, and at the edge."""

from dataclasses import dataclass

from drill.psychometrics.grid import Prior
from drill.records.store import Store
from drill.session.blocks import measurement_blocks

LEAST_STRONG_DB = 15.0
READABLE_ABOVE_EDGE_DB = 6.0
"""Distance of "readable" above the edge: with the median slope of drill.psychometrics.grid.Prior,
12 % per dB, a listener copies more than nine calls in ten there."""
STRONG_ABOVE_EDGE_DB = 12.0


@dataclass(frozen=True, kw_only=True, slots=True)
class SnrExample:
    """One strength. label: in words. snr_db: in 3 kHz, in whole dB. says: a sentence about it."""

    label: str
    snr_db: float
    says: str


def snr_examples(store: Store) -> tuple[SnrExample, ...]:
    """Return the three strengths, strongest first.

    The edge is the 50 % threshold (x50) of the last measurement, or the prior mean without any
    measurement. Raises: UserError if the record is damaged.
    """
    blocks = [block for block in measurement_blocks(store) if block.trials]
    if blocks:
        edge_db = round(blocks[-1].estimate().x50_db.value)
        edge_says = "In your last measurement you copied half of the calls at this strength."
    else:
        edge_db = round(Prior().threshold_mean_db)
        edge_says = (
            "A measurement begins near this strength, and finds where you copy half of the calls."
        )
    strong_db = max(LEAST_STRONG_DB, edge_db + STRONG_ABOVE_EDGE_DB)
    return (
        SnrExample(label="strong", snr_db=strong_db, says="Every word stands out of the noise."),
        SnrExample(
            label="readable",
            snr_db=edge_db + READABLE_ABOVE_EDGE_DB,
            says="The noise is clearly there, and the words can be read with some effort.",
        ),
        SnrExample(label="at the edge", snr_db=float(edge_db), says=edge_says),
    )
