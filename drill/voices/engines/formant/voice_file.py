"""Writes an operator as a voice definition of the espeak-ng library."""

import tomllib
from functools import cache
from pathlib import Path

from drill.core.models import Operator
from drill.core.validation import one_of
from drill.voices.people.styles import vocal_style_of

_KLATT_NUMBERS = {"klatt2": 2, "klatt3": 3, "klatt4": 4, "klatt5": 5}
ACCENT_TABLE = Path(__file__).with_name("accents.toml")
_NO_ACCENT = "plain"
_FORMANTS = 9
_PITCH_RANGE = 0.16  # at melody 1 the pitch moves up and down by this share


def voice_definition(operator: Operator) -> str:
    """Return the lines of an espeak-ng voice file for an operator.

    Source: espeak-ng 1.52, docs/voices.md.

    Raises: UserError if the operator's voice or accent is unknown to the engine.
    """
    klatt = _KLATT_NUMBERS[one_of("voice", operator.voice, _KLATT_NUMBERS, label="formant voice")]
    accents = formant_accents()
    accent = one_of("accent", operator.accent or _NO_ACCENT, accents)
    movement = _PITCH_RANGE * operator.melody
    low, high = operator.pitch_hz * (1 - movement), operator.pitch_hz * (1 + movement)
    percents = [round(100 * operator.formant_scale)] * _FORMANTS
    first_scale = operator.formant_scale * vocal_style_of(operator).first_formant_scale
    percents[1] = round(100 * first_scale)
    lines = [
        "name operator",
        *accents[accent].split("\n"),
        f"pitch {low:.0f} {high:.0f}",
        "flutter 0",
        f"klatt {klatt}",
        *(f"formant {number} {percent} 100 100" for number, percent in enumerate(percents)),
    ]
    return "\n".join(lines) + "\n"


@cache
def formant_accents() -> dict[str, str]:
    """Return the lines of a voice file for each accent; "plain" is no accent."""
    table = tomllib.loads(ACCENT_TABLE.read_text("utf-8"))
    return {name: lines.strip() for name, lines in table.items()}
