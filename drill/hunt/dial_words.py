"""The words that turn the dial: up 2, down 0.5, to 14208. No copied text begins with these words.

The page reads the same words (drill/web/static/hunt_dial.js).
"""

import re
from collections.abc import Sequence

from drill.core.errors import UserError
from drill.core.validation import shown

DIAL_STEP_HZ = 10.0
"""Step of the dial."""
DIAL_MARGIN_HZ = 5000.0
"""The dial can be turned this far beyond a band."""
LOWEST_KHZ = 100.0
"""A number after "to" below this is in MHz."""
_WORDS = re.compile(r"(up|down|to)(?:\s+(.*))?", re.IGNORECASE)
_NUMBER = re.compile(r"[0-9]{1,6}(?:[.,][0-9]{1,3})?")
_EXAMPLES = "examples: up 2, down 0.5, to 14208"

BandRange = tuple[float, float]
"""Lowest and highest frequency of a band in Hz."""


def read_dial_words(line: str, bands: Sequence[BandRange], dial_hz: float) -> float | None:
    """Return the frequency in Hz to which a line turns the dial, None if it has no dial words.

    dial_hz: the present frequency. Raises: UserError for a wrong number, or a frequency that is not
    on one of the bands.
    """
    match = _WORDS.fullmatch(line.strip())
    if match is None:
        return None
    word, text = match[1].lower(), (match[2] or "").strip()
    if not text:
        raise UserError(f"type kilohertz after {word}; {_EXAMPLES}", field="dial")
    if not _NUMBER.fullmatch(text):
        raise UserError(f"{shown(text)} is not a number of kHz; {_EXAMPLES}", field="dial")
    khz = float(text.replace(",", "."))
    if word == "to":
        wanted_hz = 1000 * khz * (1000 if khz < LOWEST_KHZ else 1)
    else:
        wanted_hz = dial_hz + 1000 * khz * (1 if word == "up" else -1)
    hz = DIAL_STEP_HZ * round(wanted_hz / DIAL_STEP_HZ)
    if not any(low - DIAL_MARGIN_HZ <= hz <= high + DIAL_MARGIN_HZ for low, high in bands):
        ranges = ", ".join(f"{khz_text(low)} to {khz_text(high)}" for low, high in bands)
        raise UserError(f"{khz_text(hz)} kHz is not on a band: {ranges} kHz", field="dial")
    return hz


def khz_text(hz: float) -> str:
    """Return a frequency in kHz, such as "14212.4"; the second decimal only if it is not zero."""
    tens = round(hz / DIAL_STEP_HZ)
    return f"{tens / 100:.2f}" if tens % 10 else f"{tens / 100:.1f}"
