"""Vocal styles: the same operator speaking plainly, crisply, in a hurry, tired or shouting.

`styles.toml` defines the styles and names their sources. The changes that an engine can make itself
(pitch, pace, melody, breath) are applied to the operator before synthesis; pauses, spectral tilt
and level are changed in the finished sound, so that they work with every engine. The plain style
changes nothing.
"""

import tomllib
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache
from importlib.resources import files

from drill.core.errors import UserError
from drill.core.models import Clip, Operator
from drill.core.structuring import from_data
from drill.voices.effects.shape import adjust_pauses, lower_level_gradually, tilt_spectrum
from phonetics.message import Word

PLAIN_STYLE = "plain"


@dataclass(frozen=True, kw_only=True, slots=True)
class VocalStyle:
    """A vocal style, relative to the operator's plain speech.

    description: how the style sounds. source: where its values come from. pace, pitch, melody:
    factors on the operator's values. breath_db: added to the operator's. first_formant_scale:
    factor on the frequency of the first formant alone. tilt_db_per_octave: spectral tilt from
    250 Hz to 4 kHz. level_fall_db: fall of the level from the start to the end of an over. gap_s,
    short_pause_s, long_pause_s: seconds added after a word without a pause, with a short pause and
    with a long pause; negative values shorten the existing silence.
    """

    description: str
    source: str
    pace: float = 1.0
    pitch: float = 1.0
    melody: float = 1.0
    breath_db: float = 0.0
    first_formant_scale: float = 1.0
    tilt_db_per_octave: float = 0.0
    level_fall_db: float = 0.0
    gap_s: float = 0.0
    short_pause_s: float = 0.0
    long_pause_s: float = 0.0

    def added_pause_s(self, pause: str) -> float:
        """Return the seconds added after a word with this pause mark: "", "," or ".".

        Raises: KeyError for any other mark.
        """
        return {"": self.gap_s, ",": self.short_pause_s, ".": self.long_pause_s}[pause]


@cache
def vocal_styles() -> dict[str, VocalStyle]:
    """Return all vocal styles of the data file by name."""
    text = (files("drill.voices.people") / "styles.toml").read_text("utf-8")
    return {name: from_data(VocalStyle, row, name) for name, row in tomllib.loads(text).items()}


def vocal_style_of(operator: Operator) -> VocalStyle:
    """Return the operator's vocal style. Raises: UserError for an unknown style."""
    try:
        return vocal_styles()[operator.vocal_style]
    except KeyError:
        known = ", ".join(vocal_styles())
        raise UserError(
            f"unknown vocal style {operator.vocal_style!r}; choose one of: {known}"
        ) from None


def apply_style_to_operator(operator: Operator) -> Operator:
    """Return the operator with its vocal style applied to pitch, pace, melody and breath.

    The operator keeps the style's name, from which an engine looks up the first formant's scale.
    Raises: UserError for an unknown style.
    """
    if operator.vocal_style == PLAIN_STYLE:
        return operator
    style = vocal_style_of(operator)
    return replace(
        operator,
        pitch_hz=round(operator.pitch_hz * style.pitch, 1),
        pace=round(operator.pace * style.pace, 3),
        melody=round(operator.melody * style.melody, 3),
        breath_db=operator.breath_db + style.breath_db,
    )


def apply_style_to_clip(clip: Clip, words: Sequence[Word], operator: Operator) -> Clip:
    """Return the clip with the pauses, tilt and level of the operator's vocal style.

    The peak stays as it is. words: the words of the over with their pauses. If the engine spoke
    other words than these, the pauses stay as they are. Raises: UserError for an unknown style.
    """
    if operator.vocal_style == PLAIN_STYLE:
        return clip
    style = vocal_style_of(operator)
    if [time.say for time in clip.words] == [word.say for word in words]:
        added_s = [style.added_pause_s(word.pause) for word in words[:-1]]
        clip = adjust_pauses(clip, added_s)
    return lower_level_gradually(tilt_spectrum(clip, style.tilt_db_per_octave), style.level_fall_db)
