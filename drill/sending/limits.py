"""From which figure on a take's pace or sound is found fault with, and what to do about it.

One table. Where no publication states a limit for speech on the air, it is common practice, no
source, set so that none of the roster's natural voices, spoken clean, is found fault with
(`python -m tests.tools.defect_table` shows it).
"""

from collections.abc import Iterator
from dataclasses import dataclass

from drill.sending.models import ADVICE, FAULT, Finding

PRACTICE = "common practice, no source"


@dataclass(frozen=True, kw_only=True, slots=True)
class Limit:
    """A limit of one figure: what is beyond it, in which unit, on whose word, and the remedy.

    low, high: the figure is fine from low to high, None for no end. says: with {figure}.
    """

    low: float | None = None
    high: float | None = None
    unit: str
    source: str = PRACTICE
    weight: str = FAULT
    says: str
    remedy: str

    def passed(self, figure: float | None) -> bool:
        """Return True where the figure is within the limit, or could not be measured."""
        if figure is None:
            return True
        return (self.low is None or figure >= self.low) and (
            self.high is None or figure <= self.high
        )


LIMITS: dict[str, Limit] = {
    "hurried": Limit(
        high=6.6,
        unit="syllables/s",
        says="You speak {figure:.1f} syllables a second; in noise the words run into each other.",
        remedy="Say every code word to its end, evenly, at 3 to 5 syllables a second.",
    ),
    "slow": Limit(
        low=2.8,
        unit="syllables/s",
        weight=ADVICE,
        says="You speak {figure:.1f} syllables a second; a long over fades before it is whole.",
        remedy="Say the words closer together, at 3 to 5 syllables a second, without haste.",
    ),
    "pause": Limit(
        high=1.2,
        unit="s",
        weight=ADVICE,
        says="Your longest pause between two words is {figure:.1f} s.",
        remedy="Know what you send before you begin; a long pause sounds like the end of an over.",
    ),
    "quiet": Limit(
        low=-40.0,
        unit="dB",
        says="The microphone is too low: your voice is at {figure:.0f} dB of full scale.",
        remedy="Raise the microphone gain, or come closer, until it reads -30 to -15 dB.",
    ),
    "clipped": Limit(
        high=0.0005,
        unit="of samples",
        says="The sound is clipped: {figure:.2%} of it stands at a flat top.",
        remedy="Lower the microphone gain until the loudest word stays below full scale.",
    ),
    "noisy": Limit(
        low=25.0,
        unit="dB",
        says="Between the words the room is only {figure:.0f} dB below your voice.",
        remedy="Come closer to the microphone, lower its gain, and still what sounds in the room; "
        "the transmitter sends it all.",
    ),
    "hum": Limit(
        high=-35.0,
        unit="dB",
        says="Mains hum is in the sound, {figure:.0f} dB against your voice.",
        remedy="Look for a bad earth, a ground loop or a supply beside the microphone's cable.",
    ),
    "dull": Limit(
        low=-27.0,
        unit="dB",
        weight=ADVICE,
        says="The voice is dull: 1500 to 2700 Hz lie {figure:.0f} dB under 300 to 800 Hz.",
        remedy="Raise the highs, or speak across the microphone less; consonants carry the words.",
    ),
    "thin": Limit(
        high=6.0,
        unit="dB",
        weight=ADVICE,
        says="The voice is thin: 1500 to 2700 Hz lie {figure:.0f} dB over 300 to 800 Hz.",
        remedy="Raise the lows a little, or lower the highs, until words sound full again.",
    ),
    "outside": Limit(
        low=0.1,
        unit="of power",
        weight=ADVICE,
        says="Only {figure:.0%} of your voice's power is in the 300 to 2700 Hz that SSB passes.",
        remedy="Cut the lows below 300 Hz, or step back a little from the microphone: the "
        "transmitter's filter throws them away, and its level control follows them.",
    ),
}


def beyond(figures: dict[str, float | None]) -> Iterator[Finding]:
    """Give a finding for every figure beyond its limit. figures: by the names of LIMITS."""
    for name, limit in LIMITS.items():
        figure = figures[name]
        if figure is not None and not limit.passed(figure):
            yield Finding(
                name=name,
                weight=limit.weight,
                says=limit.says.format(figure=figure),
                remedy=limit.remedy,
                figure=round(figure, 4),
                unit=limit.unit,
            )
