"""Speaking styles: the same person plain, crisp, hurried, tired or shouting.

What a style is stands in data/styles.toml, with its sources. What an engine can do itself is worked
into the operator before it speaks; pauses, tilt and level are changed in the finished sound, so
that they are there with every engine. A plain over passes through untouched.
"""

import tomllib
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING

from drill.core.errors import UserError
from drill.core.models import Clip, Operator

if TYPE_CHECKING:
    from phonetics.message import Word

PLAIN = "plain"


@dataclass(frozen=True, kw_only=True, slots=True)
class Style:
    """One way of speaking, against the operator's own plain way.

    says: what one hears. pace, pitch, melody: factors on the operator's. breath_db: added to the
    breath. first: factor on the first resonance, the others stay. tilt_db: per octave, from 250 Hz
    to 4 kHz. sag_db: fall of level from the start of the over to its end. gap_s, short_pause_s,
    long_pause_s: added after a word without a pause, with a short and with a long one; below 0 it
    is taken away, no more than there is silence.
    """

    says: str
    source: str
    pace: float = 1.0
    pitch: float = 1.0
    melody: float = 1.0
    breath_db: float = 0.0
    first: float = 1.0
    tilt_db: float = 0.0
    sag_db: float = 0.0
    gap_s: float = 0.0
    short_pause_s: float = 0.0
    long_pause_s: float = 0.0

    def added_s(self, pause: str) -> float:
        """Return the seconds added after a word with this pause: "", "," or "."."""
        return {"": self.gap_s, ",": self.short_pause_s, ".": self.long_pause_s}[pause]


@cache
def styles() -> dict[str, Style]:
    """Return every style by its name."""
    text = (files("drill.voices") / "data" / "styles.toml").read_text("utf-8")
    return {name: Style(**row) for name, row in tomllib.loads(text).items()}


def style_of(operator: Operator) -> Style:
    """Return the operator's style. Raises: UserError where there is none of that name."""
    try:
        return styles()[operator.style]
    except KeyError:
        known = ", ".join(styles())
        raise UserError(f"no style {operator.style!r}; there are: {known}") from None


def styled(operator: Operator) -> Operator:
    """Return the operator with the style worked into pitch, pace, melody and breath.

    The style's name stays, for the first resonance. Raises: UserError for an unknown style.
    """
    if operator.style == PLAIN:
        return operator
    style = style_of(operator)
    return replace(
        operator,
        pitch_hz=round(operator.pitch_hz * style.pitch, 1),
        pace=round(operator.pace * style.pace, 3),
        melody=round(operator.melody * style.melody, 3),
        breath_db=operator.breath_db + style.breath_db,
    )


def shaped(clip: Clip, words: "Sequence[Word]", operator: Operator) -> Clip:
    """Return the clip of these words with the style's pauses, tilt and level; the peak stays.

    words: those that the clip's times are of, with their pauses; an engine that has said others
    instead gets none of the changes to pauses.
    """
    if operator.style == PLAIN:
        return clip
    from drill.voices.effects.shape import sag, tilt, with_gaps

    style = style_of(operator)
    if [time.say for time in clip.words] == [word.say for word in words]:
        added_s = [style.added_s(word.pause) for word in words[:-1]]
        clip = with_gaps(clip, added_s)
    return sag(tilt(clip, style.tilt_db), style.sag_db)
