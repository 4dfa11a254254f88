"""/api/snr-examples: three strengths that explain what an SNR means by ear."""

from typing import Any

from drill.core.structuring import to_data
from drill.session.snr_examples import snr_examples
from drill.web.database import open_record


def snr_examples_json() -> dict[str, Any]:
    """Return "examples", strongest first: label, snr_db and says; /api/listen renders them."""
    with open_record() as store:
        return {"examples": to_data(snr_examples(store))}
